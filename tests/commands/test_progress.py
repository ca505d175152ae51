"""Progress keeps quiet on a quick day, and never spoils a slow one."""

from __future__ import annotations

import io
import time

from unsown.commands.progress import Progress


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_a_quick_day_leaves_nothing_on_the_stream() -> None:
    stream = io.StringIO()
    with Progress(stream, quiet_s=60) as progress:
        progress("cleaning", 0.1)
    assert stream.getvalue() == ""


def test_a_slow_stage_is_said_even_while_the_engine_says_nothing() -> None:
    stream = io.StringIO()
    with Progress(stream, quiet_s=0.05) as progress:
        progress("sweeping", 0.4)
        deadline = time.monotonic() + 5
        while not stream.getvalue() and time.monotonic() < deadline:
            time.sleep(0.02)
    assert stream.getvalue().startswith("sweeping 40 % (")
    assert stream.getvalue().endswith(")\n")


def test_on_a_terminal_the_line_is_wiped_at_the_end() -> None:
    stream = Terminal()
    with Progress(stream, quiet_s=0) as progress:
        progress("settling", 0.5)
    shown = stream.getvalue()
    assert "settling 50 %" in shown
    assert "\n" not in shown
    assert shown.split("\r")[-2].strip() == ""


def test_a_closed_stream_does_not_stop_the_work() -> None:
    stream = io.StringIO()
    with Progress(stream, quiet_s=0) as progress:
        stream.close()
        progress("cleaning", 0.2)
        progress("towing", 0.3)
