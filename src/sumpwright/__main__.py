"""``python -m sumpwright``: the same door as the ``sumpwright`` command."""

import sys

from sumpwright.cli import main

if __name__ == "__main__":
    sys.exit(main())
