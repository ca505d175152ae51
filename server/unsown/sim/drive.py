"""Rolling without slip: tractor, cart and tool along a path, by integrating the equations.

The rear axle follows the path, the tractor's heading is the path's tangent (turned about in
reverse). A link of length L whose pin sits h behind an axle of heading ψ turns with

    dθ/ds = [v·sin(ψ − θ) − h·ω·cos(ψ − θ)] / L

per metre of the tractor's axle, with v and ω = dψ/ds of the body in front; its own axle moves
with v·cos(ψ − θ) + h·ω·sin(ψ − θ). Fourth-order Runge-Kutta, one step a path sample.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin

import numpy as np
from scipy.ndimage import gaussian_filter1d

from unsown.core.words import Floats, Ints, Rig

STEP_M = 0.4
_SMOOTH_M = 1.3
_JACKKNIFE = 1.15


def between(values: Floats, index: Floats | float) -> Floats:
    """Values at fractional sample numbers, linear in between."""
    at = np.clip(np.asarray(index, dtype=np.float64), 0.0, len(values) - 1.0)
    low = np.minimum(at.astype(np.int64), len(values) - 2)
    first = values[low]
    return np.asarray(first + (at - low) * (values[low + 1] - first), dtype=np.float64)


@dataclass(frozen=True)
class Poses:
    """The whole rig at every path sample, shape (n,): metres and radians on the plane.

    ``gear`` is 1 forward, -1 in reverse; ``psi`` the tractor's heading, ``theta`` the tool's;
    ``tool_x``, ``tool_y`` the tool's axle (the tractor's rear axle for a mounted tool).
    """

    s: Floats
    x: Floats
    y: Floats
    psi: Floats
    kappa: Floats
    gear: Ints
    theta: Floats
    tool_x: Floats
    tool_y: Floats

    def swing(self) -> Floats:
        """Angle between tractor and tool, radians."""
        return np.asarray(self.psi - self.theta, dtype=np.float64)

    def rank(self, ahead_m: float, left_m: float = 0.0) -> Floats:
        """Points (n, 2) fixed to the tool, ``ahead_m`` of its axle and ``left_m`` of it."""
        c, s = np.cos(self.theta), np.sin(self.theta)
        return np.column_stack(
            [self.tool_x + ahead_m * c - left_m * s, self.tool_y + ahead_m * s + left_m * c]
        )


def smoothed(xy: Floats) -> Floats:
    """A path sampled every STEP_M with its kinks rounded as a steered wheel rounds them.

    Ends stay where they are, and so does their direction.
    """
    pad = min(len(xy) - 1, int(5 * _SMOOTH_M / STEP_M))
    before = 2 * xy[0] - xy[pad:0:-1]
    after = 2 * xy[-1] - xy[-2 : -pad - 2 : -1]
    long = np.vstack([before, xy, after])
    soft = gaussian_filter1d(long, _SMOOTH_M / STEP_M, axis=0)
    return np.asarray(soft[pad : pad + len(xy)], dtype=np.float64)


def headings(xy: Floats, gear: int) -> Floats:
    """Heading of the body along a smooth path, radians, unwrapped."""
    d = np.gradient(xy, axis=0) * gear
    return np.unwrap(np.arctan2(d[:, 1], d[:, 0]))


def roll(xy: Floats, gear: Ints, rig: Rig, theta0: float | None = None) -> Poses:
    """Drives a rig along a path given section by section of one gear.

    ``xy`` shape (n, 2), already smooth; ``gear`` shape (n,) of 1 and -1. The rig starts
    straight unless ``theta0`` gives the tool's (and cart's) first heading.
    """
    psi = np.empty(len(xy))
    cuts = np.flatnonzero(np.diff(gear)) + 1
    last = None
    for a, b in zip(np.r_[0, cuts], np.r_[cuts, len(xy)], strict=True):
        part = headings(xy[max(a - 1, 0) : b], int(gear[a]))
        part = part[1:] if a else part
        if last is not None:
            part = part + 2 * pi * np.round((last - part[0]) / (2 * pi))
        psi[a:b] = part
        last = psi[b - 1]
    step = np.hypot(*np.diff(xy, axis=0).T)
    ds = step * gear[1:]
    dpsi = np.diff(psi)
    kappa = np.divide(dpsi, ds, out=np.zeros_like(ds), where=np.abs(ds) > 1e-6)
    s = np.r_[0.0, np.cumsum(step)]
    theta, tool = _follow(xy, psi, ds, kappa, rig, theta0)
    return Poses(
        s, xy[:, 0], xy[:, 1], psi, np.r_[kappa, kappa[-1]], gear, theta, tool[:, 0], tool[:, 1]
    )


def _follow(
    xy: Floats, psi: Floats, ds: Floats, kappa: Floats, rig: Rig, theta0: float | None
) -> tuple[Floats, Floats]:
    if rig.kind == "mounted":
        return psi.copy(), xy.copy()
    h, tool = rig.axle_to_pin_m, rig.tool.pin_to_axle_m
    start = psi[0] if theta0 is None else theta0
    pin = xy - h * np.column_stack([np.cos(psi), np.sin(psi)])
    if rig.cart is None:
        theta = _one_link(psi, ds, kappa, h, tool, start)
        return theta, pin - tool * np.column_stack([np.cos(theta), np.sin(theta)])
    first, theta = _two_links(
        psi, ds, kappa, h, rig.cart.pin_to_axle_m, rig.cart.axle_to_pin_m, tool, start
    )
    behind = rig.cart.pin_to_axle_m + rig.cart.axle_to_pin_m
    pin = pin - behind * np.column_stack([np.cos(first), np.sin(first)])
    return theta, pin - tool * np.column_stack([np.cos(theta), np.sin(theta)])


def _one_link(
    psi: Floats, ds: Floats, kappa: Floats, h: float, length: float, start: float
) -> Floats:
    out = [start]
    theta = start
    for p0, step, k in zip(psi.tolist(), ds.tolist(), kappa.tolist(), strict=False):
        hk, half = h * k, step / 2
        pm, p1 = p0 + k * half, p0 + k * step
        f1 = (sin(p0 - theta) - hk * cos(p0 - theta)) / length
        e = pm - theta - half * f1
        f2 = (sin(e) - hk * cos(e)) / length
        e = pm - theta - half * f2
        f3 = (sin(e) - hk * cos(e)) / length
        e = p1 - theta - step * f3
        f4 = (sin(e) - hk * cos(e)) / length
        theta += step / 6 * (f1 + 2 * f2 + 2 * f3 + f4)
        if step < 0:
            theta = min(max(theta, p1 - _JACKKNIFE), p1 + _JACKKNIFE)
        out.append(theta)
    return np.array(out)


def _two_links(
    psi: Floats,
    ds: Floats,
    kappa: Floats,
    h: float,
    cart: float,
    behind: float,
    length: float,
    start: float,
) -> tuple[Floats, Floats]:
    firsts, lasts = [start], [start]
    a = b = start

    def rates(p: float, hk: float, a: float, b: float) -> tuple[float, float]:
        e = p - a
        se, ce = sin(e), cos(e)
        wa = (se - hk * ce) / cart
        va = ce + hk * se
        return wa, (va * sin(a - b) - behind * wa * cos(a - b)) / length

    for p0, step, k in zip(psi.tolist(), ds.tolist(), kappa.tolist(), strict=False):
        hk, half = h * k, step / 2
        pm, p1 = p0 + k * half, p0 + k * step
        a1, b1 = rates(p0, hk, a, b)
        a2, b2 = rates(pm, hk, a + half * a1, b + half * b1)
        a3, b3 = rates(pm, hk, a + half * a2, b + half * b2)
        a4, b4 = rates(p1, hk, a + step * a3, b + step * b3)
        a += step / 6 * (a1 + 2 * a2 + 2 * a3 + a4)
        b += step / 6 * (b1 + 2 * b2 + 2 * b3 + b4)
        if step < 0:
            a = min(max(a, p1 - _JACKKNIFE), p1 + _JACKKNIFE)
            b = min(max(b, a - _JACKKNIFE), a + _JACKKNIFE)
        firsts.append(a)
        lasts.append(b)
    return np.array(firsts), np.array(lasts)
