"""The one passphrase of the house: made of plain words, kept only as its scrypt hash."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from pathlib import Path

from werkzeug.security import check_password_hash, generate_password_hash

from unsown.yard import private
from unsown.yard.errors import YardError

SHORTEST = 10
LONGEST = 200
WORDS_IN_ONE = 5
#: RFC 7914: 16 MB and some 50 ms a try, on the house's computer as on a thief's.
METHOD = "scrypt:16384:8:1"
_LIST = """
    acre adder alder amber anvil apple apron arrow ashen aspen attic auger autumn awning axle
    badger baker bale balsam banjo barley barn barrel basin basket beacon beaver beech beetle
    bell bench berry birch bishop bison blanket blossom bobbin bolt bonnet bottle boulder brass
    bread bridge bristle bronze brook broom bucket buckle bugle bull bundle butter button cabin
    cable camel candle canoe canvas carbon cargo carrot cart castle cattle cedar cellar chain
    chalk cherry chest chimney chisel cider cinder clay clover coal cobble collar comet copper
    coral corner cotton cradle crane crate cream creek crow cup curtain daisy dam dawn deer dew
    diesel dish ditch dock donkey door dove dragon drum duck dune dust eagle easel east echo
    elbow elder elm ember engine fable falcon farrow feather fence fern ferry fiddle field finch
    flag flame flask flax flint flood flour flute foam fodder forge fossil fox frost furrow
    gable galley garden garlic garnet gate gravel glove goat goose gorge grain granite grape
    grass gull gutter hammer hamlet harbor hare harness harrow hatch hawk hay hazel heath hedge
    hemp heron hill hinge hive hollow honey hook horn horse ice iris iron island ivory ivy
    jacket jar jasper jetty jug juniper kettle kiln kite knot ladder ladle lake lamb lamp
    lantern larch lark laurel lead leaf lemon lever lily linen linnet loaf locust loft loom
    lupin magpie mallet mango maple marble marsh mast meadow melon mill mint mirror mole moss
    mule mustard needle nest nettle nickel oak oat olive onion orchard otter oven owl ox oyster
    paddle pail pan
"""
WORDS = tuple(_LIST.split())
"""256 words without look-alikes: 8 bits each, 40 bits in a passphrase."""


@dataclass(frozen=True)
class Passphrase:
    """What is kept of a passphrase."""

    hashed: str

    def fits(self, said: str) -> bool:
        """Whether this is it. Takes as long for a wrong one as for the right one."""
        return len(said) <= LONGEST and check_password_hash(self.hashed, _plain(said))


def make() -> str:
    """A passphrase of words by the system's own chance."""
    return " ".join(secrets.choice(WORDS) for _ in range(WORDS_IN_ONE))


def load(folder: Path) -> Passphrase | None:
    """The passphrase kept in ``folder``; None if there is none yet.

    Raises:
        YardError: others may read the file.
    """
    kept = private.read(folder / "passphrase")
    return Passphrase(kept.decode("ascii", "replace").strip()) if kept else None


def keep(folder: Path, said: str) -> Passphrase:
    """Keeps the hash of a new passphrase in ``folder``.

    Raises:
        YardError: it is too short or too long, or cannot be written.
    """
    plain = _plain(said)
    if not SHORTEST <= len(plain) <= LONGEST:
        raise YardError(
            "passphrase-length",
            f"A passphrase of {SHORTEST} to {LONGEST} characters was expected; {len(plain)} came.",
            where="passphrase",
            hint="Four or five words with spaces are good and can be remembered.",
        )
    made = Passphrase(generate_password_hash(plain, METHOD))
    private.write(private.folder(folder) / "passphrase", made.hashed.encode() + b"\n")
    return made


def read_file(path: Path) -> str:
    """The passphrase in the first line of a file of one's own.

    Raises:
        YardError: there is no such file, or others may read it.
    """
    data = private.read(path)
    if data is None:
        raise YardError(
            "passphrase-file",
            "The file with the passphrase is not there.",
            where=str(path),
            hint="Write the passphrase into its first line.",
        )
    return data.decode("utf-8", "replace").partition("\n")[0].strip("\r")


def _plain(said: str) -> str:
    """Spaces at the ends and doubled ones are slips of the thumb, not part of it."""
    return " ".join(said.split())
