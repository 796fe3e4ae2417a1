"""Write the generated pages in docs/ (findings, job-file, results, evidence) and README.md's outputs.

``python -m tests.write_docs`` measures the deviations by running the marked tests once;
``python -m tests.write_docs --quick`` keeps the deviations that were measured before.
"""

from __future__ import annotations

import subprocess
import sys

from tests.house.evidence_page import MEASURED, PAGE, evidence_page, measured
from tests.house.findings_page import PAGE as FINDINGS
from tests.house.findings_page import findings_page
from tests.house.page_blocks import PAGES, page_with_real_blocks
from tests.house.repository import DOCS, ROOT
from tests.house.third_party_page import PAGE as THIRD_PARTY
from tests.house.third_party_page import third_party_page
from tests.outputs import results_page as results


def main(quick: bool) -> int:
    """0 when every page is written."""
    from sumpwright.job import describe

    FINDINGS.write_text(findings_page(), "utf-8")
    THIRD_PARTY.write_text(third_party_page(), "utf-8")
    results.PAGE.write_text(results.results_page(), "utf-8")
    results.SCHEMA_FILE.write_text(results.schema_text(), "utf-8")
    (DOCS / "job-file.md").write_text(describe(), "utf-8")
    for page in PAGES:
        page.write_text(page_with_real_blocks(page.read_text("utf-8")), "utf-8")
    failing = 0
    if not quick:
        command = [sys.executable, "-m", "pytest", "-n", "2", "--measure-evidence", str(MEASURED)]
        failing = subprocess.run(command, cwd=ROOT, check=False).returncode
    PAGE.write_text(evidence_page(measured()), "utf-8")
    if failing:
        print("Some tests fail; they have no deviation on the evidence page.", file=sys.stderr)
    return 1 if failing else 0


if __name__ == "__main__":
    sys.exit(main("--quick" in sys.argv[1:]))
