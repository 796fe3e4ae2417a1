"""The command line: a thin door onto flow.

The shop types ``sumpwright pack my-pan`` and gets the findings on screen, the shop pack
in a folder, and an exit status: 0 all hold or are close, 1 something fails or cannot be
said, 2 the input could not be read or nothing could be written, 130 stopped by Ctrl-C.
Left out here: every calculation and every sentence about the pan.
"""

from sumpwright.cli.door import main

__all__ = ["main"]
