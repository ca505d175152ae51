"""One simulated day: paddock, rig and story in; log and truth out."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from unsown.core.plane import Plane
from unsown.core.words import Bools, Floats, Log, Paddock, Rig
from unsown.sim import levers, pace, paddocks, phone, route
from unsown.sim.drive import Poses, roll
from unsown.sim.paddocks import Field
from unsown.sim.phone import Errors, Logging
from unsown.sim.plan import Planner
from unsown.sim.rigs import rig_named
from unsown.sim.route import Route, Track
from unsown.sim.story import Story
from unsown.sim.truth import Truth, truth
from unsown.sim.why import explained


@dataclass(frozen=True)
class Drive:
    """The drive as it really was: route, path, poses and clock."""

    route: Route
    track: Track
    poses: Poses
    time: pace.Clock


@dataclass(frozen=True)
class SimDay:
    """A simulated day.

    ``log``, ``paddock`` and ``rig`` are what the engine gets; ``truth`` is on ``plane``.
    ``drive`` holds the true poses, ``error`` the phone's true place and error at each fix
    before gaps are taken out.
    """

    seed: int
    log: Log
    paddock: Paddock
    rig: Rig
    plane: Plane
    truth: Truth
    field: Field
    story: Story
    logging: Logging
    drive: Drive
    error: Errors

    def logged(self, preset: str | None = None, **how: Any) -> SimDay:
        """The same drive logged by another receiver or with other taps; quick."""
        logging = replace(self.logging, **how)
        if preset is not None:
            logging = replace(logging, preset=preset)
        log, error = _logged(self.seed, self.drive, self.truth, self.plane, self.rig, logging)
        return replace(self, log=log, error=error, logging=logging)

    def lever_down(self, t_s: Floats) -> Bools:
        """Whether the lever was truly down at seconds of the drive (n,)."""
        return self._within(t_s, [(s.down_s, s.up_s) for s in self.truth.sowings])

    def seeding(self, t_s: Floats) -> Bools:
        """Whether seed truly landed from every opener at seconds of the drive (n,)."""
        return self._within(t_s, [(s.on_s, s.off_s) for s in self.truth.sowings])

    @staticmethod
    def _within(t_s: Floats, spans: list[tuple[float, float]]) -> Bools:
        edges = np.array(spans, dtype=np.float64).ravel()
        return np.asarray(np.searchsorted(edges, t_s, side="right") % 2 == 1)

    def kind_at(self, t_s: Floats) -> list[str]:
        """What the rig was doing at seconds of the drive: lap, run, turn, road, back."""
        kinds = [p.kind for p in self.drive.route.pieces]
        at = np.rint(self.drive.time.index_at(np.asarray(t_s))).astype(np.int64)
        return [kinds[i] for i in self.drive.track.piece[at]]


_STORY = {f.name for f in fields(Story)}
_LOGGING = {f.name for f in fields(Logging)}


def day(
    seed: int,
    *,
    preset: str = "none",
    size: str = "full",
    rig: Rig | str | None = None,
    field: Field | None = None,
    shape: str | None = None,
    area_ha: float | None = None,
    keep_outs: int = 1,
    lat_deg: float = 49.73,
    lon_deg: float = -106.21,
    **options: Any,
) -> SimDay:
    """A day by seed: the same seed and settings give the same day.

    Args:
        seed: for the paddock, the drive and the phone (three streams of their own).
        preset: the phone's receiver, see ``receiver.PRESETS``.
        size: ``full`` (28 to 80 ha) or ``small`` (5 to 12 ha) where ``area_ha`` is not given.
        rig: a rig card or the name of one of ``rigs.RIGS``; None draws one.
        field: a paddock to use instead of a random one.
        shape: ``quad``, ``ell``, ``wedge`` or ``round``.
        area_ha: gross area of the random paddock.
        keep_outs: how many to try to place.
        lat_deg: latitude of the paddock.
        lon_deg: its longitude.
        **options: any field of Story or Logging.
    """
    strange = set(options) - _STORY - _LOGGING
    if strange:
        raise TypeError(f"day() got options of neither Story nor Logging: {sorted(strange)}")
    story = Story(**{k: v for k, v in options.items() if k in _STORY})
    logging = Logging(preset, **{k: v for k, v in options.items() if k in _LOGGING})
    rng = np.random.default_rng([seed, 1])
    names = (
        ("demo", "six", "twelve", "mounted", "cart")
        if size == "full"
        else ("demo", "six", "mounted", "offset")
    )
    card = rig_named(str(rng.choice(names))) if rig is None else rig
    card = rig_named(card) if isinstance(card, str) else card
    if field is None:
        drawn = rng.uniform(28, 80) if size == "full" else rng.uniform(5, 12)
        field = paddocks.field(
            rng,
            area_ha=float(drawn) if area_ha is None else area_ha,
            shape=shape,
            keep_outs=keep_outs,
            lat_deg=lat_deg,
            lon_deg=lon_deg,
        )
    return _made(seed, field, card, story, logging)


def _made(seed: int, field: Field, rig: Rig, story: Story, logging: Logging) -> SimDay:
    rng = np.random.default_rng([seed, 2])
    plan = Planner(field, rig, story, rng).plan()
    track = route.lay(plan)
    poses = roll(track.xy, track.gear, rig)
    time = pace.clock(plan, track, poses, story, rng)
    sowings = levers.sowings(plan, track, poses, time, rig, story, rng)
    ground = truth(field.net, poses, time, sowings, rig)
    ground = explained(ground, plan, track, poses, time, rig, field)
    drive = Drive(plan, track, poses, time)
    log, error = _logged(seed, drive, ground, field.plane, rig, logging)
    return SimDay(
        seed, log, field.paddock(), rig, field.plane, ground, field, story, logging, drive, error
    )


def _logged(
    seed: int, drive: Drive, ground: Truth, plane: Plane, rig: Rig, how: Logging
) -> tuple[Log, Errors]:
    rng = np.random.default_rng([seed, 3])
    return phone.log(drive.poses, drive.time, ground.sowings, plane, rig, how, rng)
