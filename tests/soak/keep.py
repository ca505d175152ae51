"""One page written by several commands: each leaves the others' parts as they are."""

from __future__ import annotations

#: The marks round each section that a command of its own writes.
MARKS = {
    "taps": (
        "<!-- forgotten taps, written by tests/soak/taps.py -->",
        "<!-- end of forgotten taps -->",
    ),
    "moments": (
        "<!-- leaving the paddock, written by tests/soak/moments.py -->",
        "<!-- end of leaving the paddock -->",
    ),
}
BEGIN, END = MARKS["taps"]
#: A section stands before this heading where it is new.
BEFORE = "\n## Time\n"


def cut(page: str, of: str = "taps") -> tuple[str, str, str]:
    """What stands before, between and after the marks; the last two empty without marks."""
    begin, end = MARKS[of]
    before, mark, rest = page.partition(begin)
    section, _, after = rest.partition(end)
    return (before, section.strip("\n"), after) if mark else (page, "", "")


def kept(page: str, section: str, of: str = "taps") -> str:
    """The page with this section in place of the one it has, or put in where it has none."""
    if not section:
        return page
    begin, end = MARKS[of]
    block = f"{begin}\n\n{section}\n\n{end}"
    if begin in page:
        before, _, after = cut(page, of)
        return f"{before}{block}{after}"
    before, heading, after = page.partition(BEFORE)
    if not heading:
        return f"{page.rstrip()}\n\n{block}\n".lstrip("\n")
    return f"{before}\n{block}\n{heading}{after}"


def all_kept(page: str, old: str) -> str:
    """A new page with every section of its own marks that the old one has."""
    for of in MARKS:
        page = kept(page, cut(old, of)[1], of)
    return page
