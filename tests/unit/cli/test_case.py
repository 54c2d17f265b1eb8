"""``fillwright case``: written once, never over a file, and opened without a journal."""

from __future__ import annotations

from dataclasses import replace

import pytest
from typer.testing import CliRunner

from fillwright.cli.app import app
from fillwright.errors import BadInput
from fillwright.jobs.catalogue import list_person
from fillwright.jobs.desk import Press
from fillwright.jobs.fault import stage as fault
from fillwright.jobs.opening import open_job
from fillwright.wiring import maker, open_bench

PRESS = Press(person="AB")


@pytest.fixture
def store(tmp_path):
    """A journal with a job in which a fault was looked for."""
    path = tmp_path / "bench.sqlite"
    bench = open_bench(path)
    for person in maker.PEOPLE:
        list_person(bench.desk, person, PRESS)
    open_job(bench.desk, replace(maker.JOBS[0], number="0417", lot_code="NE-1"), PRESS)
    fault.begin(bench.desk, "0417", "creeps-up", [], PRESS)
    bench.close()
    return path


def called(*words):
    """What a command printed; an error is raised as it is."""
    answer = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    assert answer.exit_code == 0
    return answer.output


def test_a_case_is_written_and_opened_elsewhere(store, tmp_path):
    """The technician sees the next check, and another one by its number."""
    file = tmp_path / "case.json"
    called("case", file, "--job", "0417", "--store", store)

    assert "Check 14: Is the wheel lock tight?" in called("case", file)
    assert "Check 21: " in called("case", file, "--check", "/21")


def test_a_file_that_is_there_is_not_replaced(store, tmp_path):
    """Whatever it holds."""
    file = tmp_path / "case.json"
    file.write_text("mine")
    with pytest.raises(BadInput, match="is not replaced"):
        called("case", file, "--job", "0417", "--store", store)

    assert file.read_text() == "mine"
