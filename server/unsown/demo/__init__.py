"""The invented farm and the sample days, made with their truth and written as files."""

from unsown.demo.farm import demo_day, field, make_demo
from unsown.demo.write import write

__all__ = ["demo_day", "field", "make_demo", "write"]
