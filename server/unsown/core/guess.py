"""Where the tool was down, from the movement and whatever was tapped.

A hidden chain at one step a second: the tool is up or down, crossed with "taps mean what they
say" or "down and up are swapped". Each second adds the summed scores of its signs (``signs``),
each tap is evidence for a change at its time. The ground sown by other passes enters through
the chances themselves, so the chain is run several rounds, each with the ground of the last.

The clock of the chain is that of the *seed*: a lowering counts from when every opener seeds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from shapely.geometry.base import BaseGeometry

from unsown.core import beside, chain, scores, signs
from unsown.core.ticks import Ticks
from unsown.core.words import Bools, Floats, Ints

#: States: up, down with taps right; up, down with taps swapped.
_DOWN = np.array([False, True, False, True])
_SWAPPED = np.array([False, False, True, True])
#: A sum of scores counts this much of its face value: neighbouring seconds say the same.
WEIGHT = 0.2
#: Log chance a second of a change; where taps are kept, times the share of taps forgotten, which
#: is learned from how often two taps say the same.
_FREE = -5.0
_LEAST_FORGOTTEN = 0.001
#: A change without a tap is put where most of its chance lies within this way, m.
_WITHIN_M, _ROUND = 5.0, 30
#: Log chances at a tap: it repeats the state, it is contradicted, taps turn swapped, or right.
_REPEAT, _AGAINST, _TO_SWAPPED, _TO_RIGHT = -20.0, -14.0, -9.0, -6.0
_NEVER = -1e6
#: A tap may come this long after what it tells of, s.
LATE_S = 6.0
#: How far the ground may move the score against the taps.
_GROUND_AGAINST = 0.6
#: The place of a change counts for at most this much, log odds.
_PLACED = 5.0
#: Rounds with the ground, and how much each new chance moves the last.
_ROUNDS, _MOVE = 5, 0.5
#: No further round where the chances agree with every tap and the last moved none by more.
_SETTLED = 0.02
#: Score a second of a state that was answered, and of backing.
_ANSWERED, _BACKING = 40.0, -10.0


@dataclass(frozen=True)
class Belief:
    """What the chain holds, one row a tick.

    ``chance`` of down, ``down`` and ``swapped`` on the most probable path.
    """

    chance: Floats
    down: Bools
    swapped: Bools


@dataclass(frozen=True)
class Evidence:
    """What was tapped and answered, on the clock of the seed.

    ``tap_s`` and ``tap_down`` are the taps; ``told`` is +1 where an answer says down, −1 where
    it says up, 0 elsewhere, one a tick. ``record`` is the state by the taps alone, ``open``
    where they cannot be right: between two taps that say the same.
    """

    tap_s: Floats
    tap_down: Bools
    told: Ints
    record: Bools
    open: Bools


def believe(
    ticks: Ticks,
    width_m: float,
    boundary: BaseGeometry | None,
    evidence: Evidence,
    *,
    free: bool,
) -> Belief:
    """Run the chain. ``free`` True: there are no taps, changes cost no more than they must."""
    n = len(ticks)
    motion = signs.movement(ticks, width_m, boundary)
    known = scores.MOVEMENT
    alone = signs.score({k: v for k, v in motion.items() if k in known}, known)
    weight = WEIGHT * np.clip(ticks.speed_m_s / ticks.usual_m_s, 0.15, 1.0)
    steps = _steps(ticks, evidence, free)
    quiet = _quiet(ticks, evidence)
    untapped = np.ones(n, dtype=bool)
    place = np.searchsorted(ticks.t_s, evidence.tap_s)
    untapped[place[place < n]] = False
    put: list[Floats] = [np.zeros(n), np.zeros(n)]
    start = np.log(np.array([0.9, 0.1, 1e-4, 1e-5]))

    def logs(score: Floats) -> Floats:
        total = _placed(steps, put, untapped) + _gain(score * weight, ticks, evidence, quiet)
        total -= total.max(axis=(1, 2), keepdims=True)
        return total

    def run(score: Floats) -> Floats:
        state = chain.states(np.exp(np.maximum(logs(score), -700.0)), np.exp(start))
        return np.asarray(state[:, 1] + state[:, 3])

    def heard(score: Floats) -> Floats:
        """The ground alone counts little against what was tapped; the movement counts in full."""
        if free:
            return score
        against = np.where(evidence.record, score < alone, score > alone)
        held = np.where(against, alone + _GROUND_AGAINST * (score - alone), score)
        return np.where(evidence.open, score, held)

    chance, score = run(alone), alone
    laid = beside.grid(ticks, width_m)
    for _ in range(_ROUNDS):
        near = beside.beside(laid, chance)
        every = signs.ground(ticks, near)
        found = {**motion, **every}
        here = signs.place(ticks, motion, near, every)
        put = [signs.score(here, table) for table in (scores.GOES_DOWN, scores.GOES_UP)]
        score = heard(signs.score(found, scores.WITH_GROUND))
        new = run(score)
        told = not free and bool(((new > 0.5) == evidence.record).all())
        still = told and float(np.abs(new - chance).max()) < _SETTLED
        chance = (1 - _MOVE) * chance + _MOVE * new
        if still:
            break
    total = logs(score)
    state, moves = chain.chances(np.exp(np.maximum(total, -700.0)), np.exp(start))
    path = np.array(chain.best(total, start))
    down = _centred(_DOWN[path], moves, ticks, untapped)
    return Belief(np.asarray(state[:, 1] + state[:, 3]), down, _SWAPPED[path])


def _gain(score: Floats, ticks: Ticks, evidence: Evidence, quiet: Bools) -> Floats:
    """Log evidence of each second for each state, shape (n, 1, 4)."""
    score = np.where(quiet, 0.0, np.clip(score, -8.0, 8.0))
    score = np.where(ticks.backing, WEIGHT * _BACKING, score)
    score = np.where(evidence.told != 0, _ANSWERED * evidence.told, score)
    return np.where(_DOWN, 0.5, -0.5)[None, None, :] * score[:, None, None]


def _placed(steps: Floats, put: list[Floats], untapped: Bools) -> Floats:
    """The steps with changes made likelier where the tool usually goes down, or up."""
    out = steps.copy()
    for down, score in zip((True, False), put, strict=True):
        extra = np.where(untapped, np.clip(score, -_PLACED, _PLACED), 0.0)
        change = (_DOWN[None, :] == down) & (_DOWN[:, None] != down)
        out += np.where(change, 1.0, 0.0)[None] * extra[:, None, None]
    return out


def _quiet(ticks: Ticks, evidence: Evidence) -> Bools:
    """Seconds just before a tap: the driver may have been late, so the movement is not heard."""
    mask = np.zeros(len(ticks), dtype=bool)
    for t in evidence.tap_s:
        lo, hi = np.searchsorted(ticks.t_s, [t - LATE_S, t + 1.0])
        mask[lo:hi] = True
    return mask


def _steps(ticks: Ticks, evidence: Evidence, free: bool) -> Floats:
    """Log chances of every change of state into each tick, shape (n, 4, 4)."""
    same_label = _SWAPPED[:, None] == _SWAPPED[None, :]
    same_state = _DOWN[:, None] == _DOWN[None, :]
    plain = np.where(same_state, 0.0, _FREE if free else _FREE + np.log(_forgotten(evidence)))
    plain = np.where(same_label, plain, _NEVER)
    steps = np.broadcast_to(plain, (len(ticks), 4, 4)).copy()
    place = np.searchsorted(ticks.t_s, evidence.tap_s)
    for k in np.unique(place[place < len(ticks)]):
        here = np.where(np.eye(4) > 0, 0.0, _NEVER)
        for down in evidence.tap_down[place == k]:
            here = (here[:, :, None] + _tap(bool(down), plain)[None]).max(axis=1)
        steps[k] = here
    return steps


def _forgotten(evidence: Evidence) -> float:
    """Share of taps that were forgotten, from taps that repeat the one before.

    Two repeats may be the ends of a swapped stretch and are not counted.
    """
    down = evidence.tap_down
    again = int((down[1:] == down[:-1]).sum())
    return max((max(again - 2, 0) + 0.2) / (len(down) + 5.0), _LEAST_FORGOTTEN)


def _centred(down: Bools, change: Floats, ticks: Ticks, untapped: Bools) -> Bools:
    """The path with each untapped change moved to where most of its chance lies nearby."""
    out = down.copy()
    at = np.flatnonzero(np.diff(down.astype(np.int8))) + 1
    ends = np.r_[0, at, len(down)]
    for i, k in enumerate(at.tolist()):
        if not untapped[k]:
            continue
        into = bool(down[k])
        lo = max(int(ends[i]) + 1, k - _ROUND)
        hi = min(int(ends[i + 2]), k + _ROUND)
        here = np.arange(lo, hi)
        kind = (_DOWN[None, :] == into) & (_DOWN[:, None] != into)
        chance = np.where(untapped[here], (change[here] * kind).sum(axis=(1, 2)), 0.0)
        way = ticks.way_m[here]
        apart = (way[:, None] - way[None, :]) / _WITHIN_M
        new = int(here[(np.exp(-0.5 * apart**2) @ chance).argmax()])
        out[lo - 1 : hi] = ~np.bool_(into)
        out[new:hi] = into
    return out


def _tap(down: bool, plain: Floats) -> Floats:
    """Log chances of a change of state across a tap that says ``down``."""
    meant = np.where(_SWAPPED, not down, down)
    out = np.empty((4, 4))
    for i in range(4):
        for j in range(4):
            if _DOWN[j] != meant[j]:
                cost = _AGAINST + (0.0 if _DOWN[i] == _DOWN[j] else 2 * _AGAINST)
            else:
                cost = 0.0 if _DOWN[i] != _DOWN[j] else _REPEAT
            if _SWAPPED[i] != _SWAPPED[j]:
                cost += _TO_SWAPPED if _SWAPPED[j] else _TO_RIGHT
            out[i, j] = cost
    del plain
    return out
