"""The whole bench killed in mid-run, with a real line to its scale: nothing lost or doubled."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

RUN = Path(__file__).with_name("bench_run.py")


def test_a_bench_killed_in_mid_run_goes_on_where_it_was(tmp_path):
    """After each kill the chain is whole, each weight is there once, the next jar is right.

    Longer: ``python tests/crash/bench_run.py FOLDER 5000 200``.
    """
    spec = importlib.util.spec_from_file_location("bench_run", RUN)
    module = importlib.util.module_from_spec(spec)
    sys.modules["bench_run"] = module
    spec.loader.exec_module(module)

    done = module.play(tmp_path, doses=24, kills=3)

    assert done.problems == []
    assert len(done.acknowledged) == len(set(done.acknowledged)) >= 24
    assert done.kills == 4
