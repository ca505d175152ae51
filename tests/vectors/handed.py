"""Writes the cases of handing over: ``python tests/vectors/handed.py``.

Words are counted by hand, and what is to be done next follows from the rule in ``steps``. Lines
and scripts are frozen as ``formats`` says them, and were read over: a change must be meant.
"""

from __future__ import annotations

import sys
from dataclasses import asdict
from math import hypot
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from unsown.core.handover import Aboard, Handover, Spot, Step, Stopped, Unclosed
from unsown.core.place import Place
from unsown.formats.eight import eight
from unsown.formats.script import script, spoken
from unsown.formats.units import Units
from vectors.made import case
from vectors.saying import clock

T_MS = 1_778_775_600_000  # 14 May 2026 16:20 UTC
NORTH_WEST = Place("north-west", "", 0.0, "fence", 1.2)
SOUTH = Place("south", "west", 184.0, "fence", 23.0)
EAST = Place("east", "north", 61.0, "keep-out", 4.0)
CORNER = Spot(1, 523.0, "corner", "sure", NORTH_WEST)
POCKET = Spot(2, 187.0, "pocket", "likely", EAST)
STRIP = Spot(3, 96.0, "strip", "can't tell", SOUTH)
REST = Spot(4, 202_300.0, "edge", "sure", EAST)
SEED = Aboard("seed", 818.0, "kg", 6.93, 0.45, 3)
FERTILISER = Aboard("fertiliser", 1195.0, "kg", 11.38, 0.6, 6)
LOW = Aboard("seed", 41.0, "kg", 0.35, 0.36, 0)
RIGS = ("Ninepost hoe drill 8.4 m", "Ninepost long bar with the short frame")
LOOSE = Unclosed(RIGS, "middle", 324.0, 1.29, 2.71, "can't tell")
ABOUT = Unclosed(RIGS, "north-west", 96.0, -0.44, 0.52, "about")
OPEN = Unclosed(RIGS, "south", 1243.0, 2.36, 0.4, "open")
STOPPED = Stopped(T_MS - 300_000, -106.21, 49.73, SOUTH, "north-east")


def handed(**changes: Any) -> Handover:
    """A day that is half done, handed over in the evening."""
    made: dict[str, Any] = {
        **{"paddock": "Dry Ladle", "at_ms": T_MS, "net_ha": 61.4, "sown_ha": 40.6},
        **{"bare_ha": 20.3, "bare_low_ha": 20.21, "bare_high_ha": 20.42, "doubt_ha": 0.52},
        **{"questions": 1, "rest": (REST,), "loose": (CORNER, POCKET), "look": (STRIP,)},
        **{"stopped": STOPPED, "aboard": (SEED, FERTILISER), "hazards": ("wire",)},
        **{"outs": ("wet patch",), "pegs": ("gate peg",), "moved_m": 1.43},
        **{"machine": ("Ninepost drill", "tines dragged sideways twice"), "driver": "morning"},
        "steps": (
            Step("carry on", (4,), 202_300.0, side="east"),
            Step("go back", (1,), 523.0, 6.2, side="north-west"),
            Step("ask", area_m2=5_200.0),
        ),
    }
    return Handover(**{**made, **changes})


def words() -> None:
    for name, text, count, why in (
        ("plain", "Openers stopped south, going north.", 5, "Each word once."),
        ("hyphen", "north-west", 2, "A hyphen parts two words."),
        ("tenth", "Sown 41.2 of 61.4 hectares.", 11, "Forty one point two: four words each."),
        ("hundreds", "114 kg", 4, "One hundred fourteen."),
        ("thousands", "2418", 5, "Two thousand four hundred eighteen."),
        ("round_numbers", "20, 100 and 3000", 6, "Twenty; one hundred; and; three thousand."),
        ("letters_and_digits", "B12's gate", 4, "B, twelve, s, gate."),
        ("nothing", " - . ", 0, "No word at all."),
        ("zero", "0.05", 4, "Zero point zero five."),
    ):
        case(f"spoken/{name}", why, {"text": text}, {"words": count}, {"words": 0})


def step(todo: str, patches: tuple[int, ...] = (), area_m2: float = 0.0, **more: Any) -> Any:
    return asdict(Step(todo, patches, area_m2, **more))  # type: ignore[arg-type]


def todo(name: str, why: str, expect: list[Any], **given: Any) -> None:
    asked = {
        **{"rest": [], "loose": [], "look": [], "aboard": [], "labels": None, "minutes": None},
        **{"questions": 0, "doubt_ha": 0.0, "seams": []},
        **given,
    }
    asked = {
        key: [asdict(x) for x in value] if isinstance(value, list) else value
        for key, value in asked.items()
    }
    case(f"steps/{name}", why, asked, {"steps": expect}, {"square_metres": 1e-6})


def todos() -> None:
    todo("nothing", "Nothing bare, nothing asked: leave.", [step("leave")])
    on = step("carry on", (4,), 202_300.0, side="east")
    back = step("go back", (1, 2), 710.0, side="north-west")
    look = step("look", (3,), 96.0, side="south")
    todo(
        "carry_on_first",
        "Ground not reached yet comes before going back; prices unknown, so all listed go.",
        [on, back, look],
        **{"rest": [REST], "loose": [CORNER, POCKET], "look": [STRIP], "aboard": [SEED]},
    )
    todo(
        "fill_before_carrying_on",
        "The seed does not last one round: fill first.",
        [step("fill", product="seed"), on],
        **{"rest": [REST], "aboard": [FERTILISER, LOW]},
    )
    todo(
        "short_without_a_round",
        "Where a round is not known, less than half a hectare that is sure is short.",
        [step("fill", product="seed"), on],
        **{"rest": [REST], "aboard": [Aboard("seed", 120.0, "kg", 1.0, 0.4)]},
    )
    todo(
        "no_fill_where_nothing_is_left",
        "An empty bin matters only where there is ground to sow.",
        [back],
        **{"loose": [CORNER, POCKET], "aboard": [LOW]},
    )
    todo(
        "by_worth",
        "Prices are known: only what is worth it, and what is worth a look; the rest is left.",
        [step("go back", (1,), 523.0, minutes=6.2, side="north-west"), look],
        **{"loose": [CORNER, POCKET], "look": [STRIP], "minutes": 6.2},
        labels={1: "worth it", 2: "leave", 3: "look first"},
    )
    todo(
        "in_driving_order",
        "What is worth it is told in driving order, that of the labels, not by size.",
        [step("go back", (1, 2), 710.0, minutes=6.2, side="north-west")],
        **{"loose": [POCKET, CORNER], "minutes": 6.2},
        labels={1: "worth it", 2: "worth it"},
    )
    todo(
        "ask_before_going_back",
        "More is in doubt than is known to be bare: the answer may change the list.",
        [step("ask", area_m2=5_200.0), back],
        **{"loose": [CORNER, POCKET], "questions": 1, "doubt_ha": 0.52},
    )
    todo(
        "ask_after_going_back",
        "Less is in doubt than is known to be bare.",
        [back, step("ask", area_m2=100.0)],
        **{"loose": [CORNER, POCKET], "questions": 1, "doubt_ha": 0.01},
    )
    todo(
        "ask_first",
        "What may be closed by an answer is asked about before going back for the others.",
        [
            step("ask", (2,), 100.0),
            step("go back", (1,), 523.0, minutes=6.2, side="north-west"),
        ],
        **{"loose": [CORNER, POCKET], "minutes": 6.2, "questions": 1, "doubt_ha": 0.01},
        labels={2: "ask first", 1: "worth it"},
    )
    todo(
        "ask_first_after_carrying_on",
        "Ground not reached yet comes before; there is nothing else to go back for.",
        [on, step("ask", (2,), 100.0)],
        **{"rest": [REST], "loose": [POCKET], "aboard": [SEED], "questions": 1, "doubt_ha": 0.01},
        labels={2: "ask first"},
    )

    todo(
        "seams_after_patches",
        "A seam that is not known to be closed comes after patches, and before what may wait.",
        [
            back,
            look,
            *(step("seam", side=x.side, seam=x) for x in (OPEN, LOOSE)),
            step("ask", area_m2=100.0),
        ],
        **{"loose": [CORNER, POCKET], "look": [STRIP], "questions": 1, "doubt_ha": 0.01},
        seams=[OPEN, LOOSE],
    )
    todo(
        "seam_alone",
        "Nothing else is left: one does not leave before the seam was looked at.",
        [step("seam", side="middle", seam=LOOSE)],
        seams=[LOOSE],
    )


def hand(name: str, why: str, h: Handover, *, acres: bool = False) -> None:
    units = Units(acres)
    said = script(h, units)
    expect = {"lines": eight(h, units, clock), "script": said, "spoken": spoken(said)}
    case(f"handover/{name}", f"Frozen, read over: {why}", {"handover": asdict(h), "acres": acres},
         expect, {})  # fmt: skip


def hands() -> None:
    hand("half_done", "all that there is to say.", handed())
    hand("in_acres", "the same in acres and feet.", handed(), acres=True)
    done = handed(
        **{"sown_ha": 61.22, "bare_ha": 0.07, "bare_low_ha": 0.05, "bare_high_ha": 0.09},
        **{"rest": (), "doubt_ha": 0.0, "questions": 0, "hazards": (), "outs": ()},
        steps=(Step("go back", (1, 2), 710.0, 9.4, side="north-west"), Step("look", (3,), 96.0)),
    )
    hand("done_but_for_loose_ends", "no hazard, the way back in minutes.", done)
    ask = handed(
        **{"rest": (), "sown_ha": 60.8, "bare_ha": 0.07, "bare_low_ha": 0.05, "bare_high_ha": 0.09},
        steps=(
            Step("ask", (2,), 5_200.0),
            Step("go back", (1,), 523.0, 6.2, side="north-west"),
        ),
    )
    seams = [Step("seam", side=x.side, seam=x) for x in (OPEN, ABOUT, LOOSE)]
    hand("two_rigs", "each seam in its words, the first on the radio.", handed(steps=tuple(seams)))
    last = (Step("go back", (1,), 523.0, 6.2, side="north-west"), seams[2])
    hand("seam_in_acres", "the seam comes second.", handed(rest=(), steps=last), acres=True)
    hand("ask_first", "what an answer may close is asked about before anybody drives.", ask)
    bare = handed(
        **{"sown_ha": 0.0, "bare_ha": 61.4, "bare_low_ha": 61.4, "bare_high_ha": 61.4},
        **{"doubt_ha": 0.0, "questions": 0, "rest": (), "loose": (), "look": ()},
        **{"stopped": None, "aboard": (), "hazards": (), "outs": (), "pegs": (), "machine": ()},
        **{"moved_m": None, "driver": "", "steps": (Step("begin"),)},
    )
    hand("nothing_sown", "blanks for the pen wherever nothing is known.", bare)
    long = handed(
        paddock="The long paddock behind the old quarry and the second dam",
        hazards=(
            *("leaning power pole with two wires", "soft culvert at the gate"),
            *("open well", "stone pile", "dead tree", "wire"),
        ),
        doubt_ha=12.47,
        questions=7,
        aboard=(Aboard("undressed winter barley", 1818.0, "kg", 113.7, 1.2, 23),),
        net_ha=468.4,
        sown_ha=221.6,
        loose=tuple(Spot(n, 900.0 - n, "corner", "likely", NORTH_WEST) for n in range(1, 12)),
        steps=(
            Step("fill", product="undressed winter barley"),
            Step("carry on", (40, 41), 2_468_000.0, side="south-east"),
            Step("go back", tuple(range(1, 12)), 9834.0, 123.0, side="north-west"),
        ),
    )
    hand("more_than_fits", "what matters most is said first, cut to sixty words.", long)
    mounted = handed(
        aboard=(Aboard("seed", 818.0, "kg", 6.93, 0.45), Aboard("fuel", 132.0, "l", 25.4, 2.0, 1)),
        stopped=Stopped(T_MS, -106.21, 49.73, EAST, ""),
        **{"moved_m": 0.1, "hazards": ("wire", "pole"), "loose": (CORNER,), "look": ()},
        **{"steps": (Step("leave"),), "doubt_ha": 0.06, "questions": 2},
    )
    hand("no_direction_and_one_round", "one round, two hazards, direction not known.", mounted)


def fill(t_s: float, amount: float, **more: Any) -> Any:
    return {"t_s": t_s, "amount": amount, "left": None, "same_mark": True, **more}


def row(seeded_ha: float, level: float, **more: Any) -> Any:
    empty = {"before": None, "used": None, "rate": None, "out_s": None}
    return {"seeded_ha": seeded_ha, "level": level, **empty, **more}


def bins() -> None:
    """Ten hours at 4 ha/h; a card of 118 kg/ha, known to 5 %; levels read to 40 kg."""
    steady = {"t_s": [0.0, 36_000.0], "ha": [0.0, 40.0], "card_kg_ha": 118.0, "now_s": 14_400.0}
    hour = 3600.0

    def learnt(used: float, ha: float) -> float:
        old, new = 1 / (0.05 * 118) ** 2, 1 / (2**0.5 * 40 / ha) ** 2
        return (118 * old + used / ha * new) / (old + new)

    def sigma_of(used: float, ha: float) -> float:
        """Of the rate learnt, with the hundredth by which the next fill may flow differently."""
        known = (1 / (0.05 * 118) ** 2 + 1 / (2**0.5 * 40 / ha) ** 2) ** -0.5
        return hypot(known, 0.01 * learnt(used, ha))

    def ledger_case(name: str, why: str, fills: list[Any], rows: list[Any], **more: Any) -> None:
        expect = {"rows": rows, "now_kg": more.pop("now_kg"), "mean_kg_ha": more.pop("mean", None)}
        case(f"ledger/{name}", why, {**steady, "fills": fills, **more}, expect, {"part": 1e-6})

    ledger_case(
        "same_mark",
        "What went in at the second fill was used on 12 ha: 114 kg/ha; an hour later 4 ha less.",
        [fill(0, 2000.0), fill(3 * hour, 1368.0)],
        [row(0, 2000), row(12, 2000, before=2000 - 118 * 12, used=1368, rate=114)],
        now_kg=2000 - 4 * learnt(1368, 12),
        mean=114.0,
    )
    ledger_case(
        "looked_into",
        "100 kg before the first, 700 kg before the second fill: 1400 kg on 12 ha.",
        [fill(0, 2000.0, left=100.0), fill(3 * hour, 1500.0, left=700.0)],
        [
            row(0, 2100, before=100),
            row(12, 2200, before=2100 - 118 * 12, used=1400, rate=1400 / 12),
        ],
        now_kg=2200 - 4 * learnt(1400, 12),
        mean=1400 / 12,
    )
    ledger_case(
        "to_nowhere",
        "A fill to no mark tells no rate; the balance runs on with the card's.",
        [fill(0, 2000.0), fill(3 * hour, 500.0, same_mark=False)],
        [row(0, 2000), row(12, 2000 - 118 * 12 + 500, before=2000 - 118 * 12)],
        now_kg=2500 - 118 * 16,
    )
    ledger_case(
        "no_card",
        "Nothing tells a rate before the second fill; then it is that fill's alone.",
        [fill(0, 2000.0), fill(3 * hour, 1368.0)],
        [row(0, 2000), row(12, 2000, used=1368, rate=114)],
        now_kg=2000 - 114 * 4,
        mean=114.0,
        card_kg_ha=None,
    )
    sigma = ((40.0**2 + (0.05 * 118 * 10) ** 2) ** 0.5) / 118
    ledger_case(
        "ran_out",
        "1180 kg at 118 kg/ha last 10 ha at 4 ha/h; the band is 1.645 of the spread each way.",
        [fill(0, 1180.0)],
        [row(0, 1180, out_s=[(10 + k * 1.645 * sigma) / 4 * hour for k in (-1, 0, 1)])],
        now_kg=1180 - 118 * 40,
        now_s=36_000.0,
    )
    for name, why, used in (
        ("not_empty", "1900 of 2000 kg were used: 100 kg are left, so it did not run out.", 1900.0),
        ("near_empty", "1980 of 2000 kg were used: 20 kg cannot be told from none.", 1980.0),
    ):
        rate = learnt(used, 17.5)
        spread = 1.645 * (40.0**2 + (sigma_of(used, 17.5) * 2000 / rate) ** 2) ** 0.5 / rate
        first = (2000 / rate - spread) / 4 * hour
        at = 2000 / rate / 4 * hour
        ledger_case(
            name,
            why,
            [fill(0, 2000.0), fill(17.5 / 4 * hour, used)],
            [
                row(0, 2000, out_s=None if name == "not_empty" else
                    [first, at if at <= 17.5 / 4 * hour else None, None]),
                row(17.5, 2000, before=2000 - 118 * 17.5, used=used, rate=used / 17.5),
            ],
            now_kg=2000.0,
            mean=used / 17.5,
            now_s=17.5 / 4 * hour,
        )  # fmt: skip
    ledger_case(
        "topped_up",
        "A second fill on no ground at all: nothing is learnt from it.",
        [fill(0, 2000.0), fill(0.0, 30.0)],
        [row(0, 2000), row(0, 2000, before=2000, used=30)],
        now_kg=2000 - 118 * 8,
        now_s=7_200.0,
    )


if __name__ == "__main__":
    bins()
    words()
    todos()
    hands()
