"""One simulated day with forgotten, late, swapped or no taps: what became of them, as a row.

Said and true are compared along one path, the one that the engine saw: the receiver's drift is
judged elsewhere and does not count here.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from soak.measure import Row
from unsown.core.ask import Asked
from unsown.core.day import find
from unsown.core.infer import infer
from unsown.core.legs import Leg, legs_of
from unsown.core.lever import start_delay, stop_delay
from unsown.core.outcome import Inferred
from unsown.core.ticks import Ticks, ticks
from unsown.core.told import Answer, Tap, tapped
from unsown.core.words import Bools, Floats, Ints, Settings
from unsown.sim import hard_taps
from unsown.sim.day import SimDay
from unsown.tune.taps import driven_up, truly_down

#: The kind of these rows.
KIND = "taps"
#: Missing changes are looked for on runs of more than this way, m.
RUN_M = 60.0
#: Down and up are swapped for this long, s.
SWAPPED_S = 1200.0
#: A change further from every question than this is simply not found, m.
FAR_M = 999.0
#: A question is about a run driven with the tool up, or the taps are wrong, from this share on.
MUCH = 0.3
#: A tap may come so long before or after what it tells of (the simulator's own 0 to 4 s), s.
_EARLY_S, _LATE_S = 0.5, 4.2
#: Cells of the ground, and how close the bar's marks on it lie, m; marks laid at a time.
_CELL_M, _MARK_M, _AT_ONCE = 0.5, 0.25, 20_000


def rows(
    seed: int,
    presets: Sequence[str],
    bands: Sequence[str] = (),
    make: Callable[..., SimDay] = hard_taps,
) -> Iterator[Row]:
    """The rows of one drive, a preset each; ``bands``: presets that guess the whole day too."""
    head = {"seed": seed, "kind": KIND}
    try:
        drive = make(seed, preset="none")
    except Exception as why:
        said = _failed(why)
        yield from ({**head, "preset": p, "failed": said} for p in presets)
        return
    for preset in presets:
        row = {**head, "preset": preset}
        try:
            day = drive.logged(preset)
            yield {**row, **taps_row(day), **({"band": band(day)} if preset in bands else {})}
        except Exception as why:
            yield {**row, "failed": _failed(why)}


def _failed(why: Exception) -> str:
    return f"{type(why).__name__}: {why}"


@dataclass(frozen=True)
class Seen:
    """A day as the engine sees it, with the truth at its ticks."""

    day: SimDay
    leg: Leg
    second: Ticks
    down: Bools
    up_run: Bools

    def infer(self, taps: Sequence[Tap], answers: Sequence[Answer] = ()) -> Inferred:
        """What the engine makes of some taps."""
        leg, net = self.leg, self.day.truth.net
        return infer(leg.track, leg.trails[0], self.day.rig, taps, net, answers=answers)

    def within(self, asked: Asked) -> Bools:
        """The ticks that a question is about."""
        return (self.second.t_s >= asked.from_s) & (self.second.t_s < asked.to_s)


def seen(day: SimDay) -> Seen:
    """The day's one phone cleaned and towed as in any other computation."""
    (leg,), _ = legs_of(day.log.fixes, day.plane, [day.rig], day.logging.start_ms)
    second = ticks(leg.track, leg.trails[0], day.rig)
    t = second.t_s
    return Seen(day, leg, second, truly_down(day, t), driven_up(day, t))


def taps_row(day: SimDay) -> Row:
    """All that the report needs of one day but the guessed band."""
    here = seen(day)
    ground = Ground(here)
    left, every = (
        tapped(some.log.marks, day.logging.start_ms)[0] for some in (day, day.logged(missing=0.0))
    )
    some, whole, none = here.infer(left), here.infer(every), here.infer([])
    plain = ~here.up_run
    right = (none.chance > 0.5) == here.down
    return {
        "hours": float(here.second.t_s[-1] - here.second.t_s[0]) / 3600,
        "net_ha": day.truth.net_m2 / 1e4,
        "missing": missing(here, left, some.questions),
        "false": false_questions(here, left, some.questions),
        "false_all_taps": false_questions(here, every, whole.questions),
        "falsely_ha": ground.falsely(some),
        "falsely_all_taps_ha": ground.falsely(whole),
        "doubt_ha": ground.doubt(some),
        "swapped": swapped(here, every, whole),
        "none": {
            "of": len(right),
            "right": int(right.sum()),
            "plain_of": int(plain.sum()),
            "plain_right": int(right[plain].sum()),
            "falsely_ha": ground.falsely(none),
        },
    }


def missing(here: Seen, taps: Sequence[Tap], asked: Sequence[Asked]) -> list[Row]:
    """The true changes on long runs that no tap tells of, each with its way to a question's end.

    Where the log begins or ends needs no question: what was not tapped there ends with it.
    """
    way = here.second.way_m + np.arange(len(here.second)) * 1e-9
    sides = [t for q in asked if q.kind != "inverted" for t in (q.from_s, q.to_s)]
    ends = np.r_[np.interp(sides, here.second.t_s, way), way[0], way[-1]]
    out: list[Row] = []
    for run in here.day.truth.sowings:
        a, b = np.interp([run.on_s, run.off_s], here.second.t_s, way)
        for lever_s, down, at in ((run.down_s, True, a), (run.up_s, False, b)):
            late = [t.t_s - lever_s for t in taps if t.down == down]
            if b - a > RUN_M and not any(-_EARLY_S <= x <= _LATE_S for x in late):
                off = float(np.abs(ends - at).min())
                out.append({"down": down, "off_m": min(off, FAR_M)})
    return out


def recorded(here: Seen, taps: Sequence[Tap]) -> Bools:
    """Whether the taps taken at their word say that seed fell, at each tick."""
    times = here.day.rig.times
    on, off = start_delay(times), stop_delay(times)
    t = here.second.t_s
    out = np.zeros(len(t), dtype=bool)
    for tap in taps:
        out[t >= tap.t_s + (on if tap.down else off)] = tap.down
    return out


def false_questions(here: Seen, taps: Sequence[Tap], asked: Sequence[Asked]) -> int:
    """Questions about stretches whose taps are right, but for runs driven with the tool up.

    Such a run looks exactly like sowing: it has to be asked about.
    """
    wrong = recorded(here, taps) != here.down
    count = 0
    for q in asked:
        at = here.within(q)
        if at.any() and here.up_run[at].mean() <= MUCH and wrong[at].mean() < MUCH:
            count += 1
    return count


def swapped(here: Seen, every: Sequence[Tap], whole: Inferred) -> Row:
    """Twenty minutes in the middle of the day with down and up swapped, every tap there.

    ``repaired``: the answer to the questions about swapping gives the very runs of right taps.
    """
    rng = np.random.default_rng([here.day.seed, 12])
    first = float(rng.uniform(0.2, 0.7)) * every[-1].t_s
    turned = [
        replace(t, down=not t.down) if first <= t.t_s < first + SWAPPED_S else t for t in every
    ]
    asked = here.infer(turned).questions
    about = [q for q in asked if q.kind == "inverted"]
    rest = [q for q in asked if q.kind != "inverted" and not _up_run(here, q)]
    said = [Answer(q.from_s, q.to_s, "swapped", "inverted") for q in about]
    after = here.infer(turned, said)
    times = [[(r.down_s, r.up_s) for r in found.runs] for found in (after, whole)]
    return {"asked": len(about), "others": len(rest), "repaired": times[0] == times[1]}


def _up_run(here: Seen, q: Asked) -> bool:
    at = here.within(q)
    return bool(at.any() and here.up_run[at].mean() > MUCH)


def band(day: SimDay) -> Row:
    """The day without its taps: where bare ground is said to lie between."""
    marks = tuple(m for m in day.log.marks if m.kind != "lever")
    started = time.process_time()
    tally, _ = find(replace(day.log, marks=marks), day.paddock, [day.rig], Settings(runs="guess"))
    return {
        "true_ha": day.truth.bare_m2 / 1e4,
        "bare_ha": tally.bare_ha,
        "low_ha": tally.bare_low_ha,
        "high_ha": tally.bare_high_ha,
        "doubt_ha": tally.doubt_ha,
        "cpu_s": time.process_time() - started,
    }


class Ground:
    """Ground swept by the bar along the path that the engine saw, on cells of half a metre."""

    def __init__(self, here: Seen) -> None:
        second = here.second
        self._second = second
        step = _MARK_M / max(second.usual_m_s, 0.5)
        self.t_s = np.arange(second.t_s[0], second.t_s[-1], step)
        half = here.day.rig.tool.width_m / 2
        self._aside = np.arange(-half + _MARK_M / 2, half, _MARK_M)
        self._corner = np.array([second.x_m.min(), second.y_m.min()]) - half - 2.0
        top = np.array([second.x_m.max(), second.y_m.max()]) + half + 2.0
        self._shape = np.ceil((top - self._corner) / _CELL_M).astype(np.int64) + 1
        self._true_s = self._inside([(s.on_s, s.off_s) for s in here.day.truth.sowings])
        self._true = self._cells(self._true_s)

    def falsely(self, found: Inferred) -> float:
        """Ground called sown that was swept at no time while seed fell, ha."""
        called = self._called(found) & ~self._true_s
        return self._ha(self._cells(called) & ~self._true)

    def doubt(self, found: Inferred) -> float:
        """Ground in doubt that is not called sown by another pass, ha."""
        doubt = self._inside([(d.from_s, d.to_s) for d in found.doubts])
        return self._ha(self._cells(doubt) & ~self._cells(self._called(found)))

    def _called(self, found: Inferred) -> Bools:
        runs = self._inside([(r.on_s, r.off_s) for r in found.runs])
        return runs & ~self._inside([(d.from_s, d.to_s) for d in found.doubts])

    def _inside(self, spans: Sequence[tuple[float, float]]) -> Bools:
        out = np.zeros(len(self.t_s), dtype=bool)
        for a, b in spans:
            i, j = np.searchsorted(self.t_s, [a, b])
            out[i:j] = True
        return out

    def _cells(self, when: Bools) -> Bools:
        out = np.zeros(int(self._shape.prod()), dtype=bool)
        for part in np.array_split(self.t_s[when], max(1, int(when.sum()) // _AT_ONCE)):
            out[self._places(part)] = True
        return out

    def _places(self, t_s: Floats) -> Ints:
        second = self._second
        x, y, heading = (
            np.interp(t_s, second.t_s, v) for v in (second.x_m, second.y_m, second.heading_rad)
        )
        across = x[:, None] - self._aside * np.sin(heading)[:, None]
        along = y[:, None] + self._aside * np.cos(heading)[:, None]
        i = ((across - self._corner[0]) / _CELL_M).astype(np.int64)
        j = ((along - self._corner[1]) / _CELL_M).astype(np.int64)
        return np.asarray(i * self._shape[1] + j).ravel()

    @staticmethod
    def _ha(cells: Bools) -> float:
        return float(cells.sum()) * _CELL_M**2 / 1e4
