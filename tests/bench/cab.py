"""The phone's part of docs/reference/speed.md: ``cab.py --write`` measures and writes it alone."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import drive
import keep
import phone

PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "speed.md"
HEAD = "## The phone\n"


def section() -> str:
    """Heading and tables, the last of the page."""
    return (
        f"{HEAD}\n"
        "Beside a loop that anybody can run: 100 million products of pairs out of 8 MB. The engine "
        f"under Node, by the time of its own thread; a slow phone is {phone.SLOWER} times as slow, "
        "because the browser's slowing down does not reach workers.\n\n"
        f"{phone.table()}\n\n"
        "The page in Chromium without a graphics processor, by its clock, on a machine that does "
        "other work too: the slowest hundredth holds that work as well.\n\n"
        f"{drive.table()}\n\n{keep.table()}\n"
    )


def put(page: str, made: str) -> str:
    """The page with its last section made anew."""
    return f"{page.split(HEAD, maxsplit=1)[0].rstrip()}\n\n{made}"


def main() -> int:
    """Measures the phone and prints it."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--write", action="store_true", help="put it into docs/reference/speed.md")
    args = options.parse_args()
    print(made := section())
    if args.write:
        PAGE.write_text(put(PAGE.read_text(encoding="utf-8"), made), encoding="utf-8")
        print(f"Written: {PAGE}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
