"""What people carry on paper: pure functions from the service's JSON to printable HTML.

No file, clock, database or network in here; times and data are arguments. Each paper is
``page(...) -> str``: a whole HTML document with its drawings as SVG inside, without script, whose
one stylesheet is ``STYLE`` of this package, served at ``STYLE_PATH``.

What the papers are given, all as the service's JSON says it; what is missing is never made up, a
ruled blank to fill by pen stands in its place:

- ``sheet.page(work, paddock, rig, settings, made_ms)``: ``work`` as ``/api/work/ID`` answers, with
  ``season``, with ``ground`` as ``/api/work/ID/ground`` answers, and, where there are any, ``pegs``
  (``name``, ``lat_deg``, ``lon_deg``, ``t_ms``) and ``fills`` (``t_ms``, ``product``, ``kg`` or
  ``l``); ``paddock`` as ``/api/paddocks/ID``; ``rig`` as ``/api/rigs/ID`` or None; ``settings`` as
  ``/api/settings``.
- ``handover.page(work, paddock, settings, made_ms)``: the same, with ``worth`` and ``handover`` of
  the work where they were computed.
- ``slip.page(slip, settings, made_ms)``: ``slip`` is ``{"day": "YYYY-MM-DD", "paddocks": [...]}``;
  each of its paddocks has ``id``, ``name``, ``state`` and ``reason`` (as ``/api/work/ID``),
  ``tally`` (as ``find --json``, the season's work on that paddock) or null, ``today`` (``sown_ha``,
  ``twice_ha``, ``hours``, ``down_km``, ``runs``, ``phones``, ``from_ms``, ``to_ms``, ``fills``;
  each null where not computed), ``waste`` of that day with its cost, or null, and ``geojson`` and
  ``ground`` for its map.
"""

from __future__ import annotations

from pathlib import Path

STYLE = Path(__file__).parent / "paper.css"
STYLE_PATH = "/papers/paper.css"
