"""The launcher: what it is asked, what it starts, what it says, how it ends."""

import errno
import json
import os
import re
import shlex
import signal
import subprocess
import sys
import threading
import urllib.error
import urllib.request
from pathlib import Path
from unittest.mock import Mock

import jsonschema
import pytest
from jupyter_core.paths import jupyter_path
from jupyterlab.commands import get_app_dir
from jupyterlab_server.workspaces_handler import WorkspacesManager

import rhythmlab.__main__ as launcher
from rhythmlab import resources
from tests.waiting import until

LABCONFIG = Path(launcher.__file__).parent / "jupyter" / "labconfig" / "default_setting_overrides.json"
PAGE = '{"cells": [], "metadata": {}, "nbformat": 4, "nbformat_minor": 5}'
# Python that starts the launcher on other pages: the folder is its first argument.
ON_PAGES = """
import pathlib, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell starts its background jobs deaf to Ctrl-C
from rhythmlab import resources
pages = pathlib.Path(sys.argv.pop(1))
resources.folder = lambda name: pages
from rhythmlab.__main__ import main
sys.exit(main())
"""


@pytest.fixture
def source(tmp_path, monkeypatch):
    """Make two pages, and have the launcher bring these."""
    source = tmp_path / "shipped"
    source.mkdir()
    (source / "00-start.ipynb").write_text(PAGE)
    (source / "01-next page.ipynb").write_text(PAGE)
    monkeypatch.setattr(resources, "folder", lambda name: source)
    return source


@pytest.fixture
def started(monkeypatch):
    """Start nothing, and keep what would have been started."""
    calls = []

    def start(command, env):
        calls.append((command, env))
        return 5

    monkeypatch.setattr(launcher, "run", start)
    monkeypatch.setattr(os, "geteuid", lambda: 1000, raising=False)
    return calls


def test_opens_jupyterlab_on_page_00_of_the_default_folder(tmp_path, source, started, monkeypatch, capsys):
    """No arguments: a folder in the current directory, this same Python, the exit code passed on."""
    monkeypatch.chdir(tmp_path)
    assert launcher.main([]) == 5
    folder = tmp_path / "rhythmlab-pages"
    ((command, _),) = started
    assert command == [
        sys.executable,
        "-m",
        "jupyterlab",
        str(folder / "00-start.ipynb"),
        f"--ServerApp.root_dir={folder}",
        "--LabApp.default_url=/lab/tree/00-start.ipynb",
    ]
    assert (folder / "01-next page.ipynb").exists()
    assert capsys.readouterr().out.splitlines() == [
        f"Your pages are in {folder}.",
        "Copied into it: 00-start.ipynb, 01-next page.ipynb.",
        "JupyterLab starts now, and your browser opens on 00-start.ipynb.",
        "To stop it, come back to this window, press Ctrl-C, and answer y if it asks.",
    ]


def test_no_browser(tmp_path, source, started, capsys):
    """The browser stays closed, and the reader is told to open the address."""
    launcher.main([str(tmp_path / "pages"), "--no-browser"])
    assert started[0][0][-1] == "--no-browser"
    assert "Open the address that it prints, and you are on 00-start.ipynb." in capsys.readouterr().out


@pytest.mark.parametrize("before", [[], ["pages"], ["pages", "--no-browser"]])
def test_more_arguments_for_jupyterlab(tmp_path, source, started, monkeypatch, before):
    """What stands after -- goes on to JupyterLab as it is, last, with or without a folder before it."""
    monkeypatch.chdir(tmp_path)
    launcher.main([*before, "--", "--port=9000", "--", "-y"])
    assert started[0][0][-3:] == ["--port=9000", "--", "-y"]
    assert (tmp_path / (before or ["rhythmlab-pages"])[0]).is_dir()


def test_address_of_a_page_with_a_space(source, started, tmp_path):
    """The printed address opens the page, whatever its name."""
    (source / "00-start.ipynb").unlink()
    launcher.main([str(tmp_path / "pages")])
    assert "--LabApp.default_url=/lab/tree/01-next%20page.ipynb" in started[0][0]


@pytest.mark.parametrize("name", ["assign", "grade"])
def test_a_folder_with_the_name_of_a_command_is_still_reached(source, started, tmp_path, monkeypatch, name):
    """With ./ before it, or by its whole path."""
    monkeypatch.chdir(tmp_path)
    for folder in (f"./{name}", str(tmp_path / name)):
        assert launcher.main([folder]) == 5
    assert [command[3] for command, _ in started] == [str(tmp_path / name / "00-start.ipynb")] * 2


@pytest.mark.parametrize("name", ["assign", "grade"])
def test_a_command_of_the_teacher_goes_to_the_desk(started, monkeypatch, name):
    """With all its arguments, and its exit code comes back; nothing is copied or started."""
    cli = Mock()
    cli.main.return_value = 3
    monkeypatch.setattr(launcher, "import_module", {"rhythmlab.classroom.cli": cli}.__getitem__)
    assert launcher.main([name, "--to", "--", "x"]) == 3
    cli.main.assert_called_once_with([name, "--to", "--", "x"])
    assert not started


def test_home_folder_is_understood(source, started, tmp_path, monkeypatch, capsys):
    """The example in the messages works where no shell has expanded it."""
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("USERPROFILE", str(tmp_path))
    launcher.main(["~/rhythmlab-pages"])
    assert (tmp_path / "rhythmlab-pages" / "00-start.ipynb").exists()


def test_root_user_is_told(source, started, tmp_path, monkeypatch, capsys):
    """JupyterLab refuses the root user unless it is told; the reader reads that it was."""
    monkeypatch.setattr(os, "geteuid", lambda: 0, raising=False)
    launcher.main([str(tmp_path / "pages")])
    assert "--allow-root" in started[0][0]
    assert "You are the root user" in capsys.readouterr().out


def test_settings_go_in_front_of_the_readers_own(monkeypatch, tmp_path):
    """The package's settings come first, the reader's paths are kept, the rest is untouched."""
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", os.pathsep.join(["one", "two"]))
    monkeypatch.setenv("JUPYTER_PREFER_ENV_PATH", "0")
    env = launcher.environment(tmp_path)
    assert env["JUPYTER_CONFIG_PATH"].split(os.pathsep) == [str(LABCONFIG.parent.parent), "one", "two"]
    assert env["JUPYTER_PREFER_ENV_PATH"] == "0"
    assert set(env) - set(os.environ) <= {"PYTHONSAFEPATH", "JUPYTERLAB_WORKSPACES_DIR"}


@pytest.mark.parametrize("paths", [None, ""])
def test_settings_where_the_reader_has_none(monkeypatch, paths, tmp_path):
    """No empty path is left in the list, and the kernel is this Python's."""
    monkeypatch.delenv("JUPYTER_CONFIG_PATH", raising=False)
    monkeypatch.delenv("JUPYTER_PREFER_ENV_PATH", raising=False)
    if paths is not None:
        monkeypatch.setenv("JUPYTER_CONFIG_PATH", paths)
    env = launcher.environment(tmp_path)
    assert env["JUPYTER_CONFIG_PATH"] == str(LABCONFIG.parent.parent)
    assert env["JUPYTER_PREFER_ENV_PATH"] == "1"


def test_windows_are_kept_in_the_folder_and_the_list_of_files_is_shut_at_first(monkeypatch, tmp_path):
    """Only in a folder of ours, and only the first time: how the reader left them stays."""
    monkeypatch.delenv("JUPYTERLAB_WORKSPACES_DIR", raising=False)
    kept = Path(launcher.environment(tmp_path)["JUPYTERLAB_WORKSPACES_DIR"])
    assert kept.parent == tmp_path
    (first,) = kept.iterdir()
    written = json.loads(first.read_text())
    assert written["data"]["layout-restorer:data"]["left"]["collapsed"] is True
    known = WorkspacesManager(str(kept)).load(
        "default"
    )  # JupyterLab finds it by the name of its first window
    assert known == written | {"metadata": known["metadata"]}
    first.write_text("left so")
    launcher.environment(tmp_path)
    assert first.read_text() == "left so"
    monkeypatch.setenv("JUPYTERLAB_WORKSPACES_DIR", "the reader's own")
    assert launcher.environment(tmp_path)["JUPYTERLAB_WORKSPACES_DIR"] == "the reader's own"


def test_windows_that_cannot_be_kept_stop_nothing(monkeypatch, tmp_path):
    """A file in their place: JupyterLab then keeps them where it does."""
    monkeypatch.delenv("JUPYTERLAB_WORKSPACES_DIR", raising=False)
    (tmp_path / ".rhythmlab-windows").write_text("")
    assert "JUPYTERLAB_WORKSPACES_DIR" not in launcher.environment(tmp_path)


def test_every_setting_is_one_that_jupyterlab_knows():
    """Each name and value fits the schema of the JupyterLab and the widgets installed here."""
    settings = json.loads(LABCONFIG.read_text())
    assert settings["@jupyter-widgets/jupyterlab-manager:plugin"]["saveState"] is True
    news = settings["@jupyterlab/apputils-extension:notification"]
    assert (news["fetchNews"], news["checkForUpdates"]) == ("false", False)
    for plugin, values in settings.items():
        package, name = plugin.split(":")
        places = [Path(get_app_dir()) / "schemas" / package]
        places += [Path(path) / package / "schemas" / package for path in jupyter_path("labextensions")]
        schema = next(place / f"{name}.json" for place in places if (place / f"{name}.json").exists())
        jsonschema.validate(values, json.loads(schema.read_text()))


QUOTED = 'a folder with a space in its name stands in quotes, for example python -m rhythmlab "my pages"\n'
PASSED_ON = (
    "what JupyterLab is told stands after --, for example python -m rhythmlab --no-browser -- --port=8890\n"
)


@pytest.mark.parametrize(
    ("asked", "way"),
    [
        (["--nope"], PASSED_ON),
        (["--no-b"], PASSED_ON),
        (["--port", "8890"], PASSED_ON),
        (["pages", "--port=8890"], PASSED_ON),
        (["one", "two"], QUOTED),
    ],
)
def test_arguments_that_are_not_understood(asked, way, started, capsys):
    """They are named, with the usage and the way that fits, and nothing is copied or started."""
    with pytest.raises(SystemExit) as end:
        launcher.main(asked)
    assert end.value.code == 2
    said = capsys.readouterr().err
    assert said.startswith(
        "usage: python -m rhythmlab [FOLDER] [--no-browser] [--yes] [-- MORE FOR JUPYTERLAB]\n"
    )
    strange = next((one for one in asked if one.startswith("-")), asked[-1])
    assert said.endswith(f"error: unrecognized arguments: {strange}; {way}")
    assert not started


@pytest.mark.skipif(os.name == "nt", reason="types a command into a POSIX shell, with a link to Python")
@pytest.mark.parametrize("venv", ["venv", "a venv"])
@pytest.mark.parametrize("asked", ["notes", "grade nowhere"])
def test_a_command_in_a_message_starts_the_python_that_said_it(tmp_path, venv, asked):
    """Started as README says, by a Python that is on no path: the example can be typed in the same window."""
    (tmp_path / venv).symlink_to(sys.prefix)
    (tmp_path / "notes").write_text("mine")
    typed = f"{shlex.quote(f'{venv}/bin/python')} -m rhythmlab"
    how = {"shell": True, "cwd": tmp_path, "capture_output": True, "text": True, "env": {"PATH": "/nowhere"}}
    said = subprocess.run(f"{typed} {asked}", **how).stderr.strip()
    example = said.rpartition("for example: ")[2]
    assert example.startswith(f"{typed} "), said
    again = subprocess.run(f"{example} --help", **how)
    assert again.returncode == 0, again.stderr
    assert again.stdout.startswith(f"usage: {typed} ")


@pytest.fixture
def at_a_terminal(monkeypatch):
    """Let the reader answer at a terminal: a list of answers to be filled, and one of the questions."""
    answers, asked = [], []
    monkeypatch.setattr(sys, "stdin", Mock(isatty=lambda: True))
    monkeypatch.setattr("builtins.input", lambda question: (asked.append(question), answers.pop(0))[1])
    return answers, asked


@pytest.mark.parametrize("answer", ["", "n", "no", "x"])
def test_a_folder_with_other_work_is_left_alone_unless_the_reader_says_yes(
    source, started, at_a_terminal, tmp_path, capsys, answer
):
    """The question names what lies there; any answer but yes leaves it as it is, in one line."""
    (tmp_path / "marks.csv").write_text("seat")
    at_a_terminal[0].append(answer)
    assert launcher.main([str(tmp_path)]) == 2
    (question,) = at_a_terminal[1]
    assert re.match(
        r".* holds other work \(marks.csv, shipped\): put 2 files .* all the same\? \[y/N\]", question
    )
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "nothing was written" in said
    assert sorted(path.name for path in tmp_path.iterdir()) == ["marks.csv", "shipped"]
    assert not started


@pytest.mark.parametrize("answer", ["y", "yes", " Y "])
def test_the_reader_may_say_yes(source, started, at_a_terminal, tmp_path, answer):
    """Then the pages come, and it is not asked again."""
    (tmp_path / "marks.csv").write_text("seat")
    at_a_terminal[0].append(answer)
    assert launcher.main([str(tmp_path)]) == 5
    assert launcher.main([str(tmp_path)]) == 5
    assert len(at_a_terminal[1]) == 1


def test_where_nobody_can_answer_it_is_refused_and_says_how(source, started, tmp_path, capsys, monkeypatch):
    """From a script the question is a refusal, and --yes is the answer."""
    (tmp_path / "marks.csv").write_text("seat")
    monkeypatch.setattr(sys, "stdin", Mock(isatty=lambda: False))
    assert launcher.main([str(tmp_path)]) == 2
    said = capsys.readouterr().err
    assert "Nothing was written." in said
    assert "--yes" in said
    assert launcher.main([str(tmp_path), "--yes"]) == 5


def test_empty_folder_name(started, capsys):
    """An empty name, as from an unset shell variable, does not fill the current directory with pages."""
    with pytest.raises(SystemExit) as end:
        launcher.main([""])
    assert end.value.code == 2
    assert "argument FOLDER: is empty; give a name, for example rhythmlab-pages" in capsys.readouterr().err


def test_help_is_short(capsys):
    """It fits on a small screen, and says what is asked most: where, and what happens to changed pages."""
    with pytest.raises(SystemExit) as end:
        launcher.main(["--help"])
    said = capsys.readouterr().out
    assert end.value.code == 0
    assert len(said.splitlines()) < 20
    for words in ("FOLDER", "rhythmlab-pages", "--no-browser", "never overwritten", "-- --port=9000"):
        assert words in said
    for words in (
        "python -m rhythmlab assign --help",
        "python -m rhythmlab grade --help",
        "./assign or ./grade",
    ):
        assert words in " ".join(said.split())


def one_line(capsys):
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("rhythmlab: ")
    assert err.count("\n") == 1
    return err


def test_folder_that_is_a_file(source, started, tmp_path, capsys):
    """One line on stderr with the folder, what is wrong and what works; exit code 2; nothing started."""
    (tmp_path / "notes").write_text("mine")
    assert launcher.main([str(tmp_path / "notes")]) == 2
    assert one_line(capsys) == (
        f"rhythmlab: cannot write to the folder {tmp_path / 'notes'}: {tmp_path / 'notes'} is a file, "
        "not a folder. Give another folder, for example: python -m rhythmlab ~/rhythmlab-pages\n"
    )
    assert not started


@pytest.mark.parametrize("number", [errno.EACCES, errno.ENOSPC, errno.EROFS])
def test_folder_that_cannot_be_written(source, started, tmp_path, capsys, monkeypatch, number):
    """Not allowed, full, or read-only: one line, exit code 2, nothing started, no empty folder left."""

    def closed(*_):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", closed)
    assert launcher.main([str(tmp_path / "pages")]) == 2
    assert f"cannot write to the folder {tmp_path / 'pages'}: " in one_line(capsys)
    assert not started
    assert not (tmp_path / "pages").exists()


def test_jupyterlab_missing(source, started, tmp_path, capsys, monkeypatch):
    """One line with the command that installs it in this Python; no folder is made."""
    monkeypatch.setattr(launcher, "find_spec", lambda name: None)
    assert launcher.main([str(tmp_path / "pages")]) == 2
    assert one_line(capsys) == (
        "rhythmlab: JupyterLab is missing from this Python; "
        f"install it, for example: {sys.executable} -m pip install jupyterlab\n"
    )
    assert not (tmp_path / "pages").exists()


def test_incomplete_installation(started, tmp_path, capsys, monkeypatch):
    """An installation without notebooks is said in one line."""
    monkeypatch.setattr(resources, "_PACKAGE", tmp_path / "rhythmlab")
    assert launcher.main([str(tmp_path / "pages")]) == 2
    assert "has no notebooks folder" in one_line(capsys)


def test_interrupted_before_it_started(source, started, tmp_path, capsys, monkeypatch):
    """Ctrl-C while pages are copied: no traceback, and the exit code that shells give for it."""

    def interrupted(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(launcher, "prepare", interrupted)
    assert launcher.main([str(tmp_path / "pages")]) == 130
    assert capsys.readouterr().err == "\nStopped.\n"


def test_exit_code_is_passed_on():
    """`run` ends as the command ends."""
    code = (
        "import os, sys; from rhythmlab.__main__ import run; "
        "sys.exit(run([sys.executable, '-c', 'raise SystemExit(7)'], dict(os.environ)))"
    )
    assert subprocess.run([sys.executable, "-c", code]).returncode == 7


def test_waiting_goes_on_through_ctrl_c():
    """Where the launcher cannot become JupyterLab, it leaves Ctrl-C to it and waits for its exit code."""
    process = Mock()
    process.wait.side_effect = [KeyboardInterrupt, KeyboardInterrupt, 3]
    assert launcher.wait(process) == 3


@pytest.mark.skipif(os.name != "posix", reason="only POSIX systems can send Ctrl-C to one process")
def test_real_jupyterlab_starts_and_stops(source, tmp_path):
    """The address is page 00's, the settings are active, the folder is the root, Ctrl-C ends it cleanly."""
    env = {name: value for name, value in os.environ.items() if not name.startswith(("JUPYTER", "XDG_"))}
    env |= {"HOME": str(tmp_path / "home"), "JUPYTER_RUNTIME_DIR": str(tmp_path / "runtime")}
    command = [sys.executable, "-c", ON_PAGES, str(source), str(tmp_path / "my pages"), "--no-browser"]
    process = subprocess.Popen(
        command,
        env=env,
        cwd=tmp_path,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
    )
    late = threading.Timer(120, process.kill)  # a test that fails is better than one that waits for ever
    late.start()
    with process:
        try:
            lines = []
            for line in process.stdout:
                lines.append(line.decode())
                if found := re.search(r"(http://127\.0\.0\.1:\d+)(/\S+)\?(token=\w+)", lines[-1]):
                    break
            assert found, "".join(lines)
            server, page, token = found.groups()
            assert page == "/lab/tree/00-start.ipynb"

            def ask(what):
                def answer():  # the address is printed a moment before anybody answers there
                    try:
                        with urllib.request.urlopen(f"{server}/{what}?{token}", timeout=30) as answer:
                            return json.load(answer)
                    except urllib.error.URLError:
                        return None

                return until(answer, why=what)

            names = [entry["name"] for entry in ask("api/contents")["content"]]
            assert sorted(names) == ["00-start.ipynb", "01-next page.ipynb"]
            for plugin, values in json.loads(LABCONFIG.read_text()).items():
                active = ask(f"lab/api/settings/{plugin}")["schema"]["properties"]
                assert {name: active[name]["default"] for name in values} == values
        finally:
            process.send_signal(signal.SIGINT)
            rest = process.stdout.read().decode()
            late.cancel()
    assert process.returncode == 0, rest
    assert "Traceback" not in "".join(lines) + rest
