"""Hold stated probabilities against simulated machines and print the tables of the docs page.

All purges, machines and runs are invented; each figure comes with its standard error.
``python benchmarks/calibrate.py docs/reference/calibration.md`` also writes them into the page;
names of parts after the page (``trims proofs``) make those alone.
"""

from __future__ import annotations

import sys
from pathlib import Path

import calibrate_priming
import calibrate_promises
import calibrate_proofs
import calibrate_signature
import calibrate_suspects
import calibrate_trim_rules
from calibrate_tables import written

PARTS = {
    "promises": calibrate_promises.tables,
    "trims": calibrate_trim_rules.tables,
    "anew": calibrate_trim_rules.anew_tables,
    "proofs": calibrate_proofs.tables,
    "suspects": calibrate_suspects.tables,
    "signature": calibrate_signature.tables,
    "priming": calibrate_priming.tables,
}


def main() -> None:
    """Print every table, and write it into the page where one is given."""
    page = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    for name in sys.argv[2:] or PARTS:
        for text in PARTS[name]():
            print(text, end="\n\n", flush=True)
            if page is not None:
                written(page, text)


if __name__ == "__main__":
    main()
