"""An edit that was not taken, in words."""

from __future__ import annotations

from sumpwright.job.faults import Fault


class EditRefusedError(Exception):
    """Nothing was written; ``fault`` says why."""

    def __init__(self, key: str, rule: str, file: str = "") -> None:
        self.fault = Fault(file, None, key, "", rule)
        super().__init__(rule)
