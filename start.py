"""Set Fillwright up in ``.venv`` beside this file and start it; needs only Python itself.

``python3 start.py`` opens the demo, ``python3 start.py test`` runs every check and test,
any other words go to the ``fillwright`` command as they stand.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import subprocess
import sys
from collections import deque
from pathlib import Path

OLDEST = (3, 11)
ROOT = Path(__file__).resolve().parent
VENV = ROOT / ".venv"
SCRIPTS = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = SCRIPTS / ("python.exe" if os.name == "nt" else "python")
STAMP = VENV / "fillwright-setup.json"
NO_NETWORK = (
    "connection broken by",
    "NewConnectionError",
    "NameResolutionError",
    "Temporary failure in name resolution",
    "getaddrinfo failed",
    "Network is unreachable",
    "ProxyError",
)
DISK_FULL = ("No space left on device", "Errno 28", "not enough space on the disk")
NOT_ALLOWED = (
    "Permission denied",
    "Operation not permitted",
    "Read-only file system",
    "Access is denied",
)


class CannotStart(Exception):
    """Something outside Fillwright is missing; the message is the one sentence to print."""


class NoNetwork(CannotStart):
    """Packages cannot be fetched; nothing was changed in ``.venv``."""


def main(words: list[str]) -> int:
    """Set up if needed, then run the demo, the tests or the command that `words` name."""
    testing = words[:1] == ["test"]
    try:
        make_ready("test" if testing else "")
    except CannotStart as missing:
        print(missing, file=sys.stderr)
        return 1
    if testing:
        return run_checks(words[1:])
    return run_command(words or ["demo"])


def make_ready(extra: str) -> None:
    """Make or repair ``.venv`` so that it holds the project with `extra`; often nothing to do."""
    if sys.version_info[:2] < OLDEST:
        raise CannotStart(
            "Fillwright needs Python {}.{} or newer and this is {}.{}: install a newer Python "
            "and run start.py with it.".format(*OLDEST, *sys.version_info[:2])
        )
    wanted = _wanted()
    if _is_ready(wanted, extra):
        return
    try:
        with _alone():
            if not _is_ready(wanted, extra):
                _set_up(wanted, extra)
    except CannotStart:
        print(flush=True)
        raise
    except OSError as error:
        print(flush=True)
        raise _cause(str(error)) or CannotStart(f"Setting up failed: {error}.") from error


def run_checks(more: list[str]) -> int:
    """Run the linters, the type checker, the import contract and pytest; 0 if all hold."""
    steps = {
        "lint": [str(PYTHON), "-m", "ruff", "check", "."],
        "format": [str(PYTHON), "-m", "ruff", "format", "--check", "."],
        "types": [str(PYTHON), "-m", "mypy"],
        "imports": [str(_script("lint-imports"))],
        "tests": [str(PYTHON), "-m", "pytest", *more],
    }
    failed = []
    for name, command in steps.items():
        print(f"== {name}", flush=True)
        if _run(command, cwd=ROOT) != 0:
            failed.append(name)
    if failed:
        print("== failed: " + ", ".join(failed), flush=True)
    return 1 if failed else 0


def run_command(words: list[str]) -> int:
    """Hand over to the ``fillwright`` command in the folder where the person stands."""
    command = [str(PYTHON), "-m", "fillwright", *words]
    if os.name != "nt":
        # Replaced by the command, this process passes on signals and the exit status.
        sys.stdout.flush()
        os.execv(command[0], command)  # noqa: S606  no shell is wanted
    return _run(command)


def _wanted() -> dict[str, str]:
    """Return what decides whether the installed set still fits."""
    import tomllib  # noqa: PLC0415  not in the older Pythons that must still read this file

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    installed_from = [
        project["build-system"],
        project["project"],
        project.get("tool", {}).get("setuptools", {}),
    ]
    text = json.dumps(installed_from, sort_keys=True)
    text += (ROOT / "constraints.txt").read_text(encoding="utf-8")
    return {
        "digest": hashlib.sha256(text.encode()).hexdigest(),
        "python": "{}.{}".format(*sys.version_info[:2]),
        # Scripts and the link to the sources hold the folder's path: a moved folder is stale.
        "root": str(ROOT),
    }


def _is_ready(wanted: dict[str, str], extra: str) -> bool:
    """Tell whether the last set-up finished and was made from the same files."""
    stamp = _stamp()
    same = all(stamp.get(key) == value for key, value in wanted.items())
    return same and extra in {"", stamp.get("extra")} and _runs("import fillwright")


def _stamp() -> dict[str, str]:
    """Return what the last set-up noted; a torn or missing note counts as none."""
    try:
        noted = json.loads(STAMP.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return noted if isinstance(noted, dict) else {}


def _set_up(wanted: dict[str, str], extra: str) -> None:
    """Install the project; a note written first tells the next run if this one was killed."""
    stamp = _stamp()
    extra = extra or stamp.get("extra", "")
    keeps = all(stamp.get(key, wanted[key]) == wanted[key] for key in ("python", "root"))
    # A set-up that never finished may hold torn packages that pip takes for whole ones.
    sound = keeps and not (STAMP.exists() and "digest" not in stamp)
    print("Setting up in .venv (the first time takes about a minute and the network) ", end="")
    sys.stdout.flush()
    version = tuple(int(part) for part in wanted["python"].split("."))
    if not (sound and _runs(f"import pip, sys; assert sys.version_info[:2] == {version}")):
        _make_venv(extra)
    _note({"extra": extra})
    target = f".[{extra}]" if extra else "."
    try:
        _pip(["install", "--disable-pip-version-check", "-c", "constraints.txt", "-e", target])
    except NoNetwork:
        # pip fetches all before it changes anything, so what was whole still is.
        if sound and stamp:
            _note(stamp)
        elif sound:
            STAMP.unlink()
        raise
    _note({**wanted, "extra": extra})
    print(" done", flush=True)


def _make_venv(extra: str) -> None:
    """Make ``.venv`` from nothing."""
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        raise CannotStart(
            "This Python cannot make a .venv because its venv or ensurepip is missing: on Debian "
            "or Ubuntu run `sudo apt-get install python{}.{}-venv`, elsewhere install Python "
            "from its full package.".format(*sys.version_info[:2])
        )
    if Path(sys.prefix).resolve() == VENV:
        raise CannotStart(
            "The .venv must be made anew, and a Python cannot remove itself: run start.py with "
            "the Python of the system instead of the one in .venv."
        )
    # Cleared before the note is written, because clearing would take the note away.
    _call([sys.executable, "-m", "venv", "--clear", "--without-pip", str(VENV)])
    _note({"extra": extra})
    _call([str(PYTHON), "-m", "ensurepip", "--upgrade", "--default-pip"])


def _note(stamp: dict[str, str]) -> None:
    """Write the note about the set-up in one piece."""
    half = STAMP.with_suffix(".half")
    half.write_text(json.dumps(stamp, indent=1) + "\n", encoding="utf-8")
    half.replace(STAMP)


def _runs(code: str) -> bool:
    """Tell whether the Python in ``.venv`` starts and runs `code`."""
    if not PYTHON.exists():
        return False
    answer = subprocess.run([str(PYTHON), "-c", code], capture_output=True, check=False)
    return answer.returncode == 0


def _pip(arguments: list[str]) -> None:
    """Run pip of ``.venv`` in the project folder."""
    _call([str(PYTHON), "-m", "pip", *arguments])


def _call(command: list[str]) -> None:
    """Run a command of the set-up, a dot for each step; its output is shown only if it fails."""
    # A person's PIP_USER or PIP_TARGET would install beside .venv instead of into it.
    kept = {k: v for k, v in os.environ.items() if k not in {"PIP_USER", "PIP_TARGET"}}
    tail: deque[str] = deque(maxlen=200)
    with subprocess.Popen(
        command,
        cwd=ROOT,
        env=kept,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
    ) as child:
        for line in child.stdout or ():
            tail.append(line)
            if line.startswith(("Collecting", "Installing", "Successfully")):
                print(".", end="", flush=True)
    if child.returncode != 0:
        cause = _cause("".join(tail))
        if cause is None:
            print("".join(list(tail)[-15:]), file=sys.stderr)
            done = " ".join(command[1:4])
            cause = CannotStart(f"Setting up failed in `{done}`: its last lines stand above.")
        raise cause


def _cause(text: str) -> CannotStart | None:
    """Return the cause that the words of `text` give away, as the sentence to print."""
    if any(words in text for words in DISK_FULL):
        return CannotStart(f"The disk is full: free about 1 GB where {ROOT} lies and start again.")
    if any(words in text for words in NO_NETWORK):
        return NoNetwork(
            "The first set-up fetches packages and there is no network: connect (or set "
            "HTTPS_PROXY) and start again."
        )
    if any(words in text for words in NOT_ALLOWED):
        return CannotStart(
            f"There is no permission to write in {ROOT}: copy the folder to a place of your own "
            "and start it there."
        )
    return None


@contextlib.contextmanager
def _alone():  # type: ignore[no-untyped-def]  # noqa: ANN202  Iterator would be one more import
    """Let one set-up run at a time in this folder, where the system offers a lock."""
    try:
        import fcntl  # noqa: PLC0415  not on Windows
    except ImportError:
        yield
        return
    with Path(__file__).open(encoding="utf-8") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        yield


def _script(name: str) -> Path:
    """Return the path of a command that was installed into ``.venv``."""
    return SCRIPTS / (name + ".exe" if os.name == "nt" else name)


def _run(command: list[str], cwd: Path | None = None) -> int:
    """Run a command to its end and return its status; the child sees Ctrl-C itself."""
    with subprocess.Popen(command, cwd=cwd) as child:
        while True:
            try:
                return child.wait()
            except KeyboardInterrupt:
                continue


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
