"""``python -m sketcher`` is the same as ``plate-sketcher``."""

import sys

from sketcher.cli import main

if __name__ == "__main__":
    sys.exit(main())
