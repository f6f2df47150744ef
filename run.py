"""Sets the project up in ``.venv`` and runs it: ``python3 run.py`` starts the sketcher, ``run.py test`` tests it.

Only the standard library is used here, so that git and Python are all a machine needs.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
VENV = HERE / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
LEAST = (3, 11)


def main(arguments: list[str]) -> int:
    """Installs what the task needs, then runs it; returns its exit code."""
    if sys.version_info < LEAST:
        here = ".".join(map(str, sys.version_info[:2]))
        print(f"Python {LEAST[0]}.{LEAST[1]} or later is needed; this is {here}.", file=sys.stderr)
        return 2
    testing = arguments[:1] == ["test"]
    try:
        install("test" if testing else "")
    except subprocess.CalledProcessError as error:
        print(f"The set-up stopped at: {' '.join(map(str, error.cmd))}", file=sys.stderr)
        print("Read the lines above. Without a network the first set-up cannot work.", file=sys.stderr)
        return 2
    except OSError as error:
        print(f"The set-up stopped: {error}. It needs to write in {HERE}.", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("The set-up was stopped; the next run goes on with it.", file=sys.stderr)
        return 130
    # All tests on two cores take half the time; whoever names some gets them one after another.
    both = ["-n", "2", "--dist", "loadfile"] if len(arguments) == 1 and (os.cpu_count() or 1) > 1 else []
    command = ["-m", "pytest", *both, *arguments[1:]] if testing else ["-m", "sketcher", *arguments]
    try:
        return subprocess.call([PYTHON, *command], cwd=HERE if testing else None)
    except KeyboardInterrupt:
        return 130


def install(extra: str) -> None:
    """Makes ``.venv`` and installs the project into it, when it is not there or ``pyproject.toml`` has changed.

    Args:
        extra: the optional dependencies to install too; empty for none.

    Raises:
        subprocess.CalledProcessError: a step failed.
    """
    wanted = hashlib.sha256((HERE / "pyproject.toml").read_bytes()).hexdigest()
    # The tests' set-up holds all that the plain one does.
    stamps = [VENV / f"installed-{name}" for name in ({extra, "test"})]
    if PYTHON.exists() and any(stamp.exists() and stamp.read_text(encoding="utf-8") == wanted for stamp in stamps):
        return
    # Without its pip, .venv was stopped half-way; making it once more completes it.
    if (
        not PYTHON.exists()
        or subprocess.run([PYTHON, "-c", "import pip"], check=False, stderr=subprocess.DEVNULL).returncode
    ):
        print("Making .venv ...", flush=True)
        made = subprocess.run([sys.executable, "-m", "venv", VENV], check=False)
        if made.returncode:
            print("Python's venv module is missing; on Debian or Ubuntu: apt install python3-venv", file=sys.stderr)
            raise subprocess.CalledProcessError(made.returncode, made.args)
    print("Installing; the first time takes a few minutes ...", flush=True)
    quiet = ["--quiet", "--disable-pip-version-check"]
    pip = [PYTHON, "-m", "pip", "install", *quiet]
    if extra:
        subprocess.run([*pip, "--editable", f"{HERE}[{extra}]"], check=True)
    else:
        subprocess.run([*pip, "--editable", str(HERE)], check=True)
        # Not every system and Python has a wheel of the solid modeller: without it all else works.
        solid = subprocess.run([*pip, "--only-binary", ":all:", "--editable", f"{HERE}[solid]"], check=False,
                               stderr=subprocess.DEVNULL)  # fmt: skip
        if solid.returncode:
            print("No solid modeller for this Python: STEP and STL files are left out; all else works.", flush=True)
    (VENV / f"installed-{extra}").write_text(wanted, encoding="utf-8")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
