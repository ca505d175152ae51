"""Several rigs in one paddock: each settled by itself, then laid beside each other.

Nobody knows how two phones' places are offset. Pegs that both visited tell it; so does a surveyed
fence along which both drove, to which each is settled. Else it is looked for in the seams that the
rigs share (job paper 3.20), and taken only where these leave no other choice: several seams, in
more than one direction, that agree in one offset. One seam alone can always be closed by moving a
picture, so it tells nothing. Where nothing tells, the draws of the picture move the rigs against
each other by what phones differ by, and the seam between them is told with that spread.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from shapely.geometry import Point

from unsown.core.legs import Leg
from unsown.core.picture import PegVisit, Picture
from unsown.core.plane import Plane
from unsown.core.rigs import Between
from unsown.core.samples import SAMPLE_M, Gaps, Samples, select
from unsown.core.seams import seams
from unsown.core.words import Bools, Floats

#: Two phones that nothing ties together differ by this much on each axis, one sigma, m; those that
#: report to be as good as this are taken at their word, m.
APART_M, _GOOD_M = 3.0, 0.3
#: Pictures whose draws agree on their own place within this are tied to the fence, m.
_TIED_M = 1.0
#: Places read beside a peg are this good, m.
_PEG_M = 0.3
#: Seams are looked for up to this middle gap, in widths, and offsets up to this, m, on this grid.
_MOST_W, _SEARCH_M, _GRID_M = 0.75, 6.0, 0.25
#: A misfit counts no more than this, m; so near offsets are one; another one must be so much worse.
_CAP_M, _ONE_M, _SHARP = 2.5, 1.5, 0.8
#: Two unknowns: so many seams can contradict each other.
_SEAMS = 4
#: Pictures that lie to each other within this are tied together, one sigma, m.
_LOOSE_M = 1.5
#: A seam is bare where its gap is wider than one opener's row, m.
_ROW_M = 0.3


@dataclass(frozen=True)
class Part:
    """One rig's settled picture, its peg visits, and the accuracy that its phones report, m."""

    picture: Picture
    pegs: tuple[PegVisit, ...]
    accuracy_m: float


def laid_together(parts: Sequence[Part], rng: np.random.Generator) -> Picture:
    """One picture of all rigs, each moved against those before it as far as anything tells.

    The rig that worked most stays where it is.
    """
    order = sorted(range(len(parts)), key=lambda k: (-len(parts[k].picture.samples), k))
    done = parts[order[0]]
    for k in order[1:]:
        part = parts[k]
        best, draws = _offset(done, part, rng)
        moved = _shifted(part.picture, best, draws)
        worst = max(done.accuracy_m, part.accuracy_m)
        done = Part(_merged(done.picture, moved), (*done.pegs, *part.pegs), worst)
    return done.picture


def _offset(done: Part, part: Part, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """By how much a rig's picture must be moved: (2,), and about that in each draw (draws, 2)."""
    draws = len(part.picture.east_draws)
    by_pegs = _by_pegs(done, part, rng)
    if by_pegs is not None:
        return by_pegs
    own, theirs = _adrift(part.picture), _adrift(done.picture)
    if own is not None and theirs is not None and np.hypot(own, theirs) < _TIED_M:
        return np.zeros(2), np.zeros((draws, 2))
    if max(done.accuracy_m, part.accuracy_m) < _GOOD_M:
        return np.zeros(2), _GOOD_M * rng.standard_normal((draws, 2))
    both = _merged(done.picture, part.picture)
    later = np.zeros(len(both.samples), dtype=np.bool_)
    later[len(done.picture.samples) :] = True
    by_seams = _by_seams(both, later)
    if by_seams is not None:
        best, sigma = by_seams
        # the draws' own wandering of either picture as a whole is told by the seams too
        drift = _mean(part.picture) - _mean(done.picture)
        return best, sigma * rng.standard_normal((draws, 2)) - drift
    known = float(np.hypot(own or 0.0, theirs or 0.0))
    more = np.sqrt(max(APART_M**2 - known**2, 0.0))
    return np.zeros(2), more * rng.standard_normal((draws, 2))


def _mean(picture: Picture) -> Floats:
    """Mean displacement of each draw, (draws, 2)."""
    return np.column_stack([picture.east_draws.mean(axis=1), picture.north_draws.mean(axis=1)])


def _adrift(picture: Picture) -> float | None:
    """How far the draws disagree on where the whole picture lies, m; None: it was not settled."""
    if picture.info is None or len(picture.east_draws) < 2:
        return None
    return float(_mean(picture).std(axis=0).max())


def _by_pegs(done: Part, part: Part, rng: np.random.Generator) -> tuple[Floats, Floats] | None:
    """The offset from pegs that both visited; None where there is none."""
    names = sorted({p.name for p in done.pegs} & {p.name for p in part.pegs})
    if not names:
        return None
    apart = [_peg(done, name) for name in names], [_peg(part, name) for name in names]
    (here, here_d), (there, there_d) = (
        (np.mean([a for a, _ in side], axis=0), np.mean([d for _, d in side], axis=0))
        for side in apart
    )
    white = _PEG_M * np.sqrt(2 / len(names)) * rng.standard_normal(here_d.shape)
    return here - there, here_d - there_d + white


def _peg(part: Part, name: str) -> tuple[Floats, Floats]:
    """Where a rig's picture has a peg: (2,), and its displacement in each draw (draws, 2)."""
    s = part.picture.samples
    places, moves = [], []
    for visit in (p for p in part.pegs if p.name == name):
        mine = np.flatnonzero(s.leg == visit.leg)
        east, north = part.picture.moved_at(visit.t_s, visit.leg)
        places.append((visit.x_m + east, visit.y_m + north))
        if len(mine):
            at = int(mine[np.argmin(np.abs(s.t_s[mine] - visit.t_s))])
            moves.append((part.picture.east_draws[:, at], part.picture.north_draws[:, at]))
    still = np.zeros((len(part.picture.east_draws), 2))
    return np.mean(places, axis=0), np.mean(moves, axis=0).T if moves else still


def _by_seams(both: Picture, later: Bools) -> tuple[Floats, float] | None:
    """The offset in which the shared seams close, and its sigma; None where it is not sharp."""
    rows = _across(both.samples, both, later)
    if len(np.unique(rows.chain)) < _SEAMS:
        return None
    gap, pull = _as_moved(rows, both), _pull(rows, later)
    steps = np.arange(-_SEARCH_M, _SEARCH_M + _GRID_M / 2, _GRID_M)
    grid = np.array(np.meshgrid(steps, steps)).reshape(2, -1)
    cost = np.minimum(np.abs(gap[:, None] + pull @ grid), _CAP_M).sum(axis=0)
    best = int(np.argmin(cost))
    far = np.hypot(*(grid - grid[:, best : best + 1])) > _ONE_M
    if cost[best] > _SHARP * cost[far].min():
        return None
    misfit = np.abs(gap + pull @ grid[:, best])
    seams_ = len(np.unique(rows.chain))
    return grid[:, best], float(max(1.4826 * np.median(misfit) / np.sqrt(seams_), _GRID_M / 2))


def _across(s: Samples, picture: Picture, later: Bools) -> Gaps:
    """Rows of the seams between the rigs, as logged."""
    rows = seams(s, s.x_m + picture.east_m, s.y_m + picture.north_m, _MOST_W)
    across = later[rows.who[:, 0]] != later[rows.who[:, 1]]
    return select(rows, across)


def _as_moved(rows: Gaps, p: Picture, draw: int | None = None) -> Floats:
    """The gaps in the settled picture, or in one of its draws, m."""
    east, north = p.east_m, p.north_m
    if draw is not None:
        east, north = east + p.east_draws[draw], north + p.north_draws[draw]
    # the gap is told for true = logged - drift, and the picture was moved by minus the drift
    by = (rows.east * east[rows.who]).sum(1) + (rows.north * north[rows.who]).sum(1)
    return np.asarray(rows.gap_m - by)


def _pull(rows: Gaps, later: Bools) -> Floats:
    """By how much each gap changes with an offset of the later picture, (rows, 2)."""
    which = later[rows.who]
    return -np.column_stack([(rows.east * which).sum(1), (rows.north * which).sum(1)])


def _shifted(p: Picture, best: Floats, draws: Floats) -> Picture:
    """A picture moved as a whole, and each of its draws besides."""
    stretches = tuple(
        replace(x, poses=replace(x.poses, x_m=x.poses.x_m + best[0], y_m=x.poses.y_m + best[1]))
        for x in p.stretches
    )
    return replace(
        p,
        stretches=stretches,
        east_m=p.east_m + best[0],
        north_m=p.north_m + best[1],
        east_draws=p.east_draws + draws[:, :1],
        north_draws=p.north_draws + draws[:, 1:],
    )


def _merged(a: Picture, b: Picture) -> Picture:
    """Two pictures as one, as worse told as the worse of them."""
    s, t = a.samples, b.samples
    names = ("t_s", "x_m", "y_m", "heading_rad", "run", "stretch", "leg", "width_m")
    more = {"stretch": len(a.stretches)}
    joined = Samples(
        *(np.concatenate([getattr(s, n), getattr(t, n) + more.get(n, 0)]) for n in names)
    )
    info = a.info or b.info
    if a.info is not None and b.info is not None:
        info = {k: max(v, b.info[k]) for k, v in a.info.items()}
        info["seams"] = a.info["seams"] + b.info["seams"]
    return Picture(
        (*a.stretches, *b.stretches),
        joined,
        np.concatenate([a.east_draws, b.east_draws], axis=1),
        np.concatenate([a.north_draws, b.north_draws], axis=1),
        info,
        max(a.sigma_m, b.sigma_m),
        np.concatenate([a.east_m, b.east_m]),
        np.concatenate([a.north_m, b.north_m]),
    )


@dataclass(frozen=True)
class Seam:
    """The seam between two rigs as told, and points along it on the plane."""

    told: Between
    x_m: Floats
    y_m: Floats


def tested(picture: Picture, legs: Sequence[Leg], plane: Plane) -> list[Seam]:
    """Every seam between two rigs, tested with all that their pictures may be off by."""
    s = picture.samples
    if len(s) == 0:
        return []
    outfit = np.asarray([leg.outfit for leg in legs])[s.leg]
    rows = seams(s, s.x_m + picture.east_m, s.y_m + picture.north_m, _MOST_W)
    pair = np.sort(outfit[rows.who[:, :2]], axis=1)
    out = []
    for one, other in sorted({(int(a), int(b)) for a, b in pair if a != b}):
        some = select(rows, (pair[:, 0] == one) & (pair[:, 1] == other))
        sides = _sides(_pull(some, outfit == other))
        drawn = np.asarray(
            [
                [_as_moved(some, picture, k)[side].mean() for side in sides]
                for k in range(len(picture.east_draws))
            ]
        ).reshape(-1, len(sides))
        gap = float(_as_moved(some, picture).mean())
        later, earlier = some.who[:, 0], some.who[:, 1]
        x, y = s.x_m + picture.east_m, s.y_m + picture.north_m
        x, y = (x[later] + x[earlier]) / 2, (y[later] + y[earlier]) / 2
        lon, lat = plane.to_degrees(x[len(x) // 2 :][:1], y[len(y) // 2 :][:1])
        told = Between(
            (one, other),
            len(some) * SAMPLE_M,
            gap,
            float(drawn.std(axis=0).max()) if len(drawn) > 1 else 0.0,
            float((drawn.max(axis=1) > _ROW_M).mean()) if len(drawn) else float(gap > _ROW_M),
            Point(float(lon[0]), float(lat[0])),
        )
        out.append(Seam(told, x, y))
    return out


def _sides(pull: Floats) -> list[Bools]:
    """Rows that an offset opens and rows that it closes: where rigs take turns there are both."""
    _, _, axes = np.linalg.svd(pull, full_matrices=False)
    along = pull @ axes[0] >= 0
    return [side for side in (along, ~along) if side.any()]


def word_of(chance: float, sigma_m: float) -> Literal["open", "closed", "about", "can't tell"]:
    """What is known of a seam by its chance to be bare and its sigma, m, in a word."""
    if chance >= 0.9:
        return "open"
    if chance <= 0.1:
        return "closed"
    return "about" if sigma_m < _LOOSE_M else "can't tell"


def in_words(seam: Between, names: Sequence[str]) -> str:
    """What is to be said of a seam between two rigs."""
    one, other = (names[k] for k in seam.rigs)
    where = f"the seam between the rigs of {one} and {other}, {seam.length_m:.0f} m"
    word = word_of(seam.chance, seam.sigma_m)
    if word == "open":
        return f"{where}, is open: about {seam.gap_m:.1f} m were left"
    if word == "closed":
        return f"{where}, is closed"
    if word == "about":
        width = f"{abs(seam.gap_m):.1f} m {'left' if seam.gap_m > 0 else 'of overlap'}"
        return (
            f"{where}: about {width}, give or take {seam.sigma_m:.1f} m; look at the furrow there"
        )
    return (
        f"{where}: can't tell whether it is closed, as nothing ties their phones together"
        f" (they may lie {2 * seam.sigma_m:.0f} m apart); look at the furrow there"
    )
