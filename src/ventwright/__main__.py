"""``python -m ventwright``."""

import sys

from ventwright.cli import main

if __name__ == "__main__":
    sys.exit(main())
