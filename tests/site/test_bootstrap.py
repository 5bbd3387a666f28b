"""`manage.py` on a machine that has nothing but Python: a real `venv`, a real `pip`, a lock of two tiny local wheels.

The wheels stand in for Django and pytest, so that no network is needed: what is tested is the set-up, not the packages.
"""

import ast
import hashlib
import os
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PYTHON = getattr(sys, "_base_executable", None) or sys.executable
DJANGO = """
import os, sys
def execute_from_command_line(argv):
    print("ran", *argv[1:], "prefix", os.path.realpath(sys.prefix), "pid", os.getpid())
"""
PYTEST = "import sys; print('pytest ran', *sys.argv[1:])"


def wheel(folder: Path, name: str, files: dict[str, str]) -> str:
    """Write a wheel and give its line for a lock file."""
    file = folder / f"{name}-1.0-py3-none-any.whl"
    info = f"{name}-1.0.dist-info"
    with zipfile.ZipFile(file, "w") as archive:
        for path, text in files.items():
            archive.writestr(path, text)
        archive.writestr(f"{info}/METADATA", f"Metadata-Version: 2.1\nName: {name}\nVersion: 1.0\n")
        archive.writestr(
            f"{info}/WHEEL", "Wheel-Version: 1.0\nGenerator: test\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        archive.writestr(f"{info}/RECORD", "")
    return f"./{file.name} --hash=sha256:{hashlib.sha256(file.read_bytes()).hexdigest()}\n"


def checkout(folder: Path) -> Path:
    shutil.copy(ROOT / "manage.py", folder)
    django = wheel(
        folder,
        "tinydjango",
        {"django/__init__.py": "", "django/core/__init__.py": "", "django/core/management/__init__.py": DJANGO},
    )
    tests = wheel(folder, "tinypytest", {"pytest/__init__.py": "", "pytest/__main__.py": PYTEST})
    (folder / "requirements.txt").write_text(django)
    (folder / "requirements-dev.txt").write_text(django + tests)
    return folder


def start(folder: Path, *arguments: str, **environment: str) -> subprocess.Popen[str]:
    kept = {
        name: value for name, value in os.environ.items() if not name.startswith(("CAMBERBOOK", "PYTHON", "VIRTUAL"))
    }
    return subprocess.Popen(
        [PYTHON, "manage.py", *arguments],
        cwd=folder,
        text=True,
        start_new_session=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        env={**kept, "PIP_NO_INDEX": "1", **environment},
    )


def run(folder: Path, *arguments: str, **environment: str) -> tuple[int, str, str]:
    process = start(folder, *arguments, **environment)
    out, err = process.communicate(timeout=200)
    return process.returncode, out, err


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A checkout whose environment has been made once."""
    folder = checkout(tmp_path_factory.mktemp("checkout"))
    process = start(folder, "serve", "--port", "1")
    out, err = process.communicate(timeout=200)
    assert process.returncode == 0, err
    assert "making .venv" in err
    assert "the environment is ready" in err
    assert out.split() == [
        "ran",
        "serve",
        "--port",
        "1",
        "prefix",
        str((folder / ".venv").resolve()),
        "pid",
        str(process.pid),
    ]
    return folder


def test_the_second_start_goes_straight_in(made: Path) -> None:
    code, out, err = run(made, "check")
    assert (code, err) == (0, "")
    assert out.startswith("ran check")


def test_test_adds_its_extras_and_hands_on_what_follows(made: Path) -> None:
    code, out, err = run(made, "test", "-q", "tests/site")
    assert (code, out.strip()) == (0, "pytest ran -q tests/site")
    assert "requirements-dev.txt" in err
    assert "making .venv" not in err
    assert run(made, "test")[1:] == ("pytest ran\n", "")
    assert run(made, "test", "--", "tests/faults", "tests/security")[1] == "pytest ran tests/faults tests/security\n"


def test_a_changed_lock_is_noticed_from_inside_the_environment_too(made: Path) -> None:
    with (made / "requirements.txt").open("a") as lock:
        lock.write("# one more line\n")
    inside = str(made / ".venv" / "bin" / "python")
    done = subprocess.run(
        [inside, "manage.py", "check"],
        cwd=made,
        text=True,
        capture_output=True,
        timeout=200,
        check=False,
        env={**os.environ, "PIP_NO_INDEX": "1", "CAMBERBOOK_SETUP": "1"},
    )
    assert done.returncode == 0, done.stderr
    assert "making .venv" in done.stderr
    assert done.stdout.startswith("ran check")


def test_killed_half_way_is_made_again(tmp_path: Path) -> None:
    folder = checkout(tmp_path)
    process = start(folder, "check")
    until = time.monotonic() + 60
    while not (folder / ".venv" / "pyvenv.cfg").exists() and time.monotonic() < until:
        time.sleep(0.02)
    os.killpg(process.pid, signal.SIGKILL)
    process.communicate()
    assert not list((folder / ".venv").glob("made-for-*"))
    code, out, err = run(folder, "check")
    assert code == 0, err
    assert out.startswith("ran check")


def test_two_at_once_are_both_served(tmp_path: Path) -> None:
    folder = checkout(tmp_path)
    both = [start(folder, "check"), start(folder, "check")]
    answers = [process.communicate(timeout=200) for process in both]
    assert [process.returncode for process in both] == [0, 0], answers
    assert sum("making .venv" in err for _, err in answers) == 1
    assert all(out.startswith("ran check") for out, _ in answers)


def test_a_package_that_is_not_the_pinned_one_is_refused(tmp_path: Path) -> None:
    folder = checkout(tmp_path)
    lock = folder / "requirements.txt"
    lock.write_text(lock.read_text().split("--hash")[0] + "--hash=sha256:" + "0" * 64 + "\n")
    code, out, err = run(folder, "check")
    assert (code, out) == (1, "")
    assert "DO NOT MATCH THE HASHES" in err
    assert "camberbook: this step failed" in err
    assert "run the same command again" in err
    assert not list((folder / ".venv").glob("made-for-*"))


def test_a_python_without_venv_says_what_to_install(tmp_path: Path) -> None:
    folder = checkout(tmp_path)
    (folder / "venv.py").write_text("raise SystemExit('No module named venv')")
    code, out, err = run(folder, "demo")
    assert (code, out) == (1, "")
    assert "apt-get install python3-venv" in err


def test_a_python_that_is_too_old_is_told_so(tmp_path: Path) -> None:
    folder = checkout(tmp_path)
    text = (folder / "manage.py").read_text()
    assert "OLDEST = (3, 11)" in text
    (folder / "manage.py").write_text(text.replace("OLDEST = (3, 11)", "OLDEST = (99, 0)"))
    code, out, err = run(folder, "demo", PATH="/nowhere")
    assert (code, out) == (2, "")
    assert "needs Python 3.11 or newer" in err
    assert sys.version.split()[0] in err
    assert not (folder / ".venv").exists()


def test_the_file_parses_on_an_old_python() -> None:
    """Python 3.6's grammar; the running of it on 2.7 and 3.6 was tried by hand."""
    source = (ROOT / "manage.py").read_text()
    ast.parse(source, feature_version=(3, 6))
    assert not any(isinstance(node, ast.JoinedStr) for node in ast.walk(ast.parse(source)))


def test_the_environment_is_left_alone_when_asked(tmp_path: Path) -> None:
    folder = checkout(tmp_path)
    (folder / "django" / "core" / "management").mkdir(parents=True)
    (folder / "django" / "core" / "management" / "__init__.py").write_text(DJANGO)
    for package in ("django", "django/core"):
        (folder / package / "__init__.py").write_text("")
    code, out, err = run(folder, "check", CAMBERBOOK_SETUP="0")
    assert (code, err) == (0, "")
    plain = subprocess.check_output([PYTHON, "-c", "import sys; print(sys.prefix)"], text=True).strip()
    assert f"prefix {os.path.realpath(plain)} pid" in out
    assert not (folder / ".venv").exists()
