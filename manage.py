#!/usr/bin/env python3
"""Camberbook's one command. On a fresh machine it first makes `.venv` from the lock file, then runs itself inside it.

    python3 manage.py demo      a made-up shop to look around in
    python3 manage.py serve     the site and its worker, in one process
    python3 manage.py test      the tests; what follows is passed to pytest

Until Django is there this uses nothing but the standard library, and it parses on Python 2.7, so as to be able to say
that a Python is too old. `CAMBERBOOK_SETUP=0` leaves the environment alone: use the Python that runs this, as it is.
"""
from __future__ import print_function

import hashlib
import os
import subprocess
import sys

OLDEST = (3, 11)
HERE = os.path.dirname(os.path.abspath(__file__))
VENV = os.path.join(HERE, ".venv")
VENV_PYTHON = os.path.join(VENV, "bin", "python")
LOCKS = {"run": "requirements.txt", "test": "requirements-dev.txt"}


class SetupFailed(Exception):
    """What went wrong while the environment was being made, and what to do; the text is for the screen."""


def say(line):
    print("camberbook: " + line, file=sys.stderr)
    sys.stderr.flush()


def runs(python):
    process = subprocess.Popen([python, "--version"], stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
    process.communicate()
    return process.returncode == 0


def refuse_an_old_python():
    """Leave with a message that names a newer Python, if one is on the path."""
    if sys.version_info >= OLDEST:
        return
    have = ".".join(str(n) for n in sys.version_info[:3])
    say("this needs Python 3.11 or newer, and {0} is Python {1}.".format(sys.executable, have))
    for minor in range(11, 20):
        for folder in os.environ.get("PATH", "").split(os.pathsep):
            other = os.path.join(folder, "python3.{0}".format(minor))
            if os.access(other, os.X_OK) and runs(other):
                say("There is a newer one here. Try:  {0} {1}".format(other, " ".join(sys.argv)))
                sys.exit(2)
    say("Install a newer one, for example with  apt-get install python3.11 python3.11-venv  or from python.org.")
    sys.exit(2)


def wanted_stamp(kind):
    """The text the stamp file must hold: which lock, by its hash, under which Python."""
    with open(os.path.join(HERE, LOCKS[kind]), "rb") as lock:
        digest = hashlib.sha256(lock.read()).hexdigest()
    return "{0} {1} python {2}.{3}.{4}\n".format(kind, digest, *sys.version_info[:3])


def stamp_file(kind):
    return os.path.join(VENV, "made-for-" + kind)


def is_made(kind):
    """True if `.venv` was made, to the end, from the lock as it reads now and by this version of Python."""
    try:
        with open(stamp_file(kind)) as stamp:
            return stamp.read() == wanted_stamp(kind) and os.access(VENV_PYTHON, os.X_OK)
    except OSError:
        return False


def inside():
    return os.path.realpath(sys.prefix) == os.path.realpath(VENV)


def run_step(command, what_to_do):
    """Run one step of the set-up. Its output is shown; a failure raises SetupFailed with what to do."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    try:
        code = subprocess.call(command, cwd=HERE, env=environment, stdout=sys.stderr)
    except OSError as exc:
        raise SetupFailed("could not run {0}: {1}. {2}".format(command[0], exc, what_to_do))
    if code:
        raise SetupFailed("this step failed (exit {0}): {1}\n{2}".format(code, " ".join(command), what_to_do))


def make_venv():
    """Make `.venv` afresh with the Python that `.venv` itself stems from, or the one that runs this."""
    python = getattr(sys, "_base_executable", None) or sys.executable
    say("making .venv with Python {0}.{1}.{2} ...".format(*sys.version_info[:3]))
    run_step([python, "-m", "venv", "--clear", VENV],
             "On Debian and Ubuntu the module is a package of its own:  apt-get install python3-venv\n"
             "Otherwise look whether the disk is full and whether {0} can be written.".format(HERE))


def install(kind):
    lock = LOCKS[kind]
    say("installing what {0} pins (about a minute the first time) ...".format(lock))
    run_step([VENV_PYTHON, "-m", "pip", "install", "-qq", "--disable-pip-version-check", "--no-input",
              "--require-hashes", "--only-binary", ":all:", "-r", lock],
             "The lines above say why. Usual reasons: no connection to the package index, a full disk, or a Python\n"
             "for which a package has no ready-made build yet (3.11 is the one this is tested with).\n"
             "Mend that and run the same command again: it starts the set-up over.")
    with open(stamp_file(kind) + ".new", "w") as stamp:
        stamp.write(wanted_stamp(kind))
    os.rename(stamp_file(kind) + ".new", stamp_file(kind))


def set_up(kind):
    """Make `.venv` right for `kind`, one process at a time. What was left half made is made again."""
    import fcntl

    with open(os.path.join(HERE, ".venv.lock"), "w") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            say("another process is setting up .venv; waiting for it ...")
            fcntl.flock(lock, fcntl.LOCK_EX)
        if not is_made("run"):
            make_venv()
            install("run")
        if not is_made(kind):
            install(kind)
        say("the environment is ready.")


def enter_venv(kind):
    """Return only inside a `.venv` made from the current lock; else make it and start over in it, same process."""
    if os.name != "posix":
        raise SetupFailed("the set-up of .venv works on Linux and macOS. Elsewhere make an environment yourself,\n"
                          "install requirements.txt into it, set CAMBERBOOK_SETUP=0 and run this with its Python.")
    if is_made("run") and is_made(kind):
        if inside():
            return
    else:
        set_up(kind)
    os.execv(VENV_PYTHON, [VENV_PYTHON, os.path.abspath(__file__)] + sys.argv[1:])


def run_pytest(arguments):
    os.chdir(HERE)
    os.execv(sys.executable, [sys.executable, "-m", "pytest"] + arguments)


def main():
    refuse_an_old_python()
    testing = sys.argv[1:2] == ["test"]
    if os.environ.get("CAMBERBOOK_SETUP") != "0":
        try:
            enter_venv("test" if testing else "run")
        except SetupFailed as exc:
            for line in str(exc).splitlines():
                say(line)
            sys.exit(1)
        except KeyboardInterrupt:
            say("stopped; the next start makes .venv again.")
            sys.exit(130)
    if testing:
        run_pytest(sys.argv[3:] if sys.argv[2:3] == ["--"] else sys.argv[2:])
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobs.site.settings")
    from django.core.management import execute_from_command_line

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
