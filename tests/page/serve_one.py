"""Serve one job folder until the process is ended: the first line printed is the address."""

from __future__ import annotations

import sys
from pathlib import Path


def main() -> None:
    from sumpwright.web.run_server import JobServer

    server = JobServer(Path(sys.argv[1]))
    server.run(lambda: print(server.address, flush=True))


if __name__ == "__main__":
    main()
