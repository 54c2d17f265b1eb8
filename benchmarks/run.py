"""Run every benchmark of this folder, one after the other."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

failed = []
for path in sorted(Path(__file__).parent.glob("bench_*.py")):
    print(f"== {path.stem}", flush=True)
    if subprocess.run([sys.executable, str(path)], check=False).returncode != 0:
        failed.append(path.stem)
if failed:
    sys.exit("failed: " + ", ".join(failed))
