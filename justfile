# The tasks only call: nothing can be done through them alone. `just` alone lists them.

python := if os_family() == "windows" { ".venv/Scripts/python.exe" } else { ".venv/bin/python" }
system_python := if os_family() == "windows" { "py" } else { "python3" }

_list:
    @just --list --unsorted

# make .venv with every tool of the workshop
setup:
    {{system_python}} start.py --version
    {{python}} -m pip install --quiet -c constraints.txt -e ".[dev]"

# lint, format, types, import contract, house rules
check:
    {{python}} -m ruff check .
    {{python}} -m ruff format --check .
    {{python}} -m mypy
    {{python}} -m pytest -q tests/house

# let the linter mend and lay out what it can
fix:
    {{python}} -m ruff check --fix .
    {{python}} -m ruff format .

# everything, letter for letter what CI runs
test:
    {{system_python}} start.py test

# the unit tests alone
fast *args:
    {{python}} -m pytest -q tests/unit {{args}}

# the pages on this machine, with your own store
serve *args:
    {{system_python}} start.py serve {{args}}

# the demo bench in the browser
demo *args:
    {{system_python}} start.py demo {{args}}

# are the pages of docs/ complete, and do their examples run
docs:
    {{python}} -m pytest -q tests/house/test_docs.py tests/integration/test_docs_examples.py

# the browser tests, which take the pictures of the tutorial
shots:
    {{python}} -m pytest -q -m browser tests/e2e

# kill the writer at its named points and look at what is left
crash:
    {{python}} -m pytest -q tests/crash

# how fast, as ratios against named alternatives
bench:
    {{python}} benchmarks/run.py
