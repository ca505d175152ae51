"""One page written by two commands: each leaves the other's part as it is."""

from __future__ import annotations

BEGIN = "<!-- forgotten taps, written by tests/soak/taps.py -->"
END = "<!-- end of forgotten taps -->"
#: The section stands before this heading where it is new.
BEFORE = "\n## Time\n"


def cut(page: str) -> tuple[str, str, str]:
    """What stands before, between and after the marks; the last two empty without marks."""
    before, mark, rest = page.partition(BEGIN)
    section, _, after = rest.partition(END)
    return (before, section.strip("\n"), after) if mark else (page, "", "")


def kept(page: str, section: str) -> str:
    """The page with this section in place of the one it has, or put in where it has none."""
    if not section:
        return page
    block = f"{BEGIN}\n\n{section}\n\n{END}"
    if BEGIN in page:
        before, _, after = cut(page)
        return f"{before}{block}{after}"
    before, heading, after = page.partition(BEFORE)
    if not heading:
        return f"{page.rstrip()}\n\n{block}\n".lstrip("\n")
    return f"{before}\n{block}\n{heading}{after}"
