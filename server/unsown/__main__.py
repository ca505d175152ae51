"""``python -m unsown``."""

import sys

from unsown.cli import main

sys.exit(main())
