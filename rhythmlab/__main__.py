"""Copy the pages to a working folder of the reader's, and open JupyterLab on the first one.

For a teacher, ``assign`` and ``grade`` go to the desk of the classroom, which is loaded only then.
"""

import sys

if __name__ == "__main__" and not sys.flags.safe_path:
    # ``python -m`` looks for modules in the current folder first, where a pupil may have put a csv.py.
    # What this package is made of is never looked for there; `rhythmlab-first.pth` has brought the package.
    del sys.path[0]

import argparse
import json
import os
import subprocess
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from urllib.parse import quote

from rhythmlab.files import make_folder, put
from rhythmlab.working_folder import Doubtful, FolderError, first_page, instead, prepare, program

#: Holds ``labconfig/default_setting_overrides.json``: panels are saved with a page, no pop-up covers it;
#: and ``jupyter_server_config.json``: the server sends every message at once (``prompt_connection.py``).
_JUPYTER = Path(__file__).parent / "jupyter"
#: Folder in the working folder that keeps how the windows stand, and how they stand at first.
_WINDOWS = ".rhythmlab-windows"
_AREA = {"collapsed": True, "visible": True, "widgets": []}
_SHUT = {
    "data": {"layout-restorer:data": {"main": {"dock": None}, "left": _AREA, "right": _AREA}},
    "metadata": {"id": "default"},
}
#: Commands for a teacher; a folder of such a name is written with ``./`` before it.
_DESK = ("assign", "grade")


def main(
    argv: list[str] | None = None, start: Callable[[list[str], dict[str, str]], int] | None = None
) -> int:
    """Run ``python -m rhythmlab``.

    Parameters
    ----------
    argv : list of str, optional
        The arguments; those of the command line by default.
    start : callable, optional
        What starts JupyterLab: takes a command and its environment, and returns the exit code.

    Returns
    -------
    int
        The exit code: JupyterLab's own, 2 if it could not be started, 130 if it was interrupted before.
        For a command of the teacher's, that of the command.
    """
    argv = sys.argv[1:] if argv is None else argv
    if argv and argv[0] in _DESK:
        code: int = import_module("rhythmlab.classroom.cli").main(argv)
        return code
    cut = argv.index("--") if "--" in argv else len(argv)
    parser = _parser()
    asked, strange = parser.parse_known_args(argv[:cut])
    if strange:
        way = 'a folder with a space in its name stands in quotes, for example {} "my pages"'
        if any(one.startswith("-") for one in strange):
            way = "what JupyterLab is told stands after --, for example {} --no-browser -- --port=8890"
        parser.error(f"unrecognized arguments: {' '.join(strange)}; {way.format(parser.prog)}")
    folder = Path(os.path.abspath(os.path.expanduser(asked.folder)))
    try:
        if find_spec("jupyterlab") is None:
            raise FolderError(
                "JupyterLab is missing from this Python; "
                f"install it, for example: {sys.executable} -m pip install jupyterlab"
            )
        for sentence in _prepared(folder, sure=asked.yes):
            print(sentence)
        page, more = first_page(), argv[cut + 1 :]
        if asked.no_browser:
            more.insert(0, "--no-browser")
            print(f"JupyterLab starts now. Open the address that it prints, and you are on {page}.")
        else:
            print(f"JupyterLab starts now, and your browser opens on {page}.")
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            more.insert(0, "--allow-root")
            print("You are the root user, which JupyterLab advises against; it starts with --allow-root.")
        print("To stop it, come back to this window, press Ctrl-C, and answer y if it asks.", flush=True)
        return (start or run)(command(folder, page, more), environment(folder))
    except (FolderError, FileNotFoundError) as error:
        print(f"rhythmlab: {error}", file=sys.stderr)
        return 2
    except (KeyboardInterrupt, EOFError):
        print("\nStopped.", file=sys.stderr)
        return 130


def _prepared(folder: Path, *, sure: bool) -> list[str]:
    """Bring the pages, having asked where the folder is hardly meant for them."""
    try:
        return prepare(folder, sure=sure)
    except Doubtful as doubt:
        if not sys.stdin or not sys.stdin.isatty():
            raise FolderError(f"{doubt} Nothing was written. {instead()}; or add --yes.") from None
        if input(f"{doubt} [y/N] ").strip().lower() not in ("y", "yes"):
            raise FolderError(f"nothing was written. {instead()}") from None
        return prepare(folder, sure=True)


def command(folder: Path, page: str, more: list[str]) -> list[str]:
    """Return the command that opens JupyterLab on a page, in this same Python.

    Parameters
    ----------
    folder : Path
        The working folder, which the file browser shows.
    page : str
        Name of the page in it.
    more : list of str
        More arguments for JupyterLab; the last word is theirs.
    """
    return [
        *(sys.executable, "-m", "jupyterlab", str(folder / page)),
        f"--ServerApp.root_dir={folder}",
        f"--LabApp.default_url=/lab/tree/{quote(page)}",  # so that the address it prints opens the page too
        *more,
    ]


def environment(folder: Path) -> dict[str, str]:
    """Return this process's environment, with the settings that the pages need added in front.

    Parameters
    ----------
    folder : Path
        The working folder, which keeps how the windows of its JupyterLab stand.
    """
    env = dict(os.environ)
    paths = [str(_JUPYTER), env.get("JUPYTER_CONFIG_PATH", "")]
    env["JUPYTER_CONFIG_PATH"] = os.pathsep.join(path for path in paths if path)
    env.setdefault("JUPYTER_PREFER_ENV_PATH", "1")  # the kernel is this Python, even in a shared environment
    env.setdefault("PYTHONSAFEPATH", "1")  # nothing is imported from beside a page: it may be a pupil's
    if "JUPYTERLAB_WORKSPACES_DIR" not in env and (kept := _windows(folder)):
        env["JUPYTERLAB_WORKSPACES_DIR"] = str(kept)
    return env


def _windows(folder: Path) -> Path | None:
    """Return where the windows of this folder's JupyterLab are kept, the list of files shut at first.

    Of a reader's other work nothing is changed; where it cannot be written, JupyterLab opens as it does.
    """
    kept = folder / _WINDOWS
    try:
        with make_folder(kept, parents=False):
            first = kept / "default-37a8.jupyterlab-workspace"  # JupyterLab's own name for its first window
            if not first.exists():
                put(first, json.dumps(_SHUT).encode())
    except OSError:
        return None
    return kept


def run(command: list[str], env: dict[str, str]) -> int:
    """Become the command where the system can do that, otherwise wait for it; return its exit code.

    Parameters
    ----------
    command : list of str
        Program and arguments.
    env : dict of str to str
        Its environment.
    """
    if os.name == "posix":
        os.execve(command[0], command, env)
    return wait(subprocess.Popen(command, env=env))


def wait(process: subprocess.Popen[bytes]) -> int:
    """Return the exit code of a process that hears Ctrl-C itself.

    Parameters
    ----------
    process : subprocess.Popen
        The process, started in this window.
    """
    while True:
        try:
            return process.wait()
        except KeyboardInterrupt:
            continue


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog=program(),
        usage="%(prog)s [FOLDER] [--no-browser] [--yes] [-- MORE FOR JUPYTERLAB]",
        description="Copy the rhythmlab pages to a folder of yours, and open JupyterLab on the first one. "
        "A page that you changed is never overwritten.",
        epilog="What stands after -- goes to JupyterLab, for example: "
        "%(prog)s pages --no-browser -- --port=9000. For a teacher: %(prog)s assign "
        "--help, %(prog)s grade --help; a FOLDER of such a name is written ./assign or ./grade.",
        allow_abbrev=False,
    )
    parser.add_argument(
        "folder",
        metavar="FOLDER",
        type=_folder_name,
        nargs="?",
        default="rhythmlab-pages",
        help="where your pages are or will be; %(default)s in the current folder if you give none",
    )
    parser.add_argument(
        "--no-browser", action="store_true", help="print the address, and leave the browser closed"
    )
    parser.add_argument("--yes", action="store_true", help="put pages also where other work lies, unasked")
    return parser


def _folder_name(text: str) -> str:
    if not text:
        raise argparse.ArgumentTypeError("is empty; give a name, for example rhythmlab-pages")
    return text


if __name__ == "__main__":
    sys.exit(main())
