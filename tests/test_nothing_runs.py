"""Nothing that lies where a teacher stands is run: not by marking, not by the launcher, not by a page."""

import json
import os
import subprocess
import sys
import sysconfig
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

import rhythmlab as rl
from rhythmlab.__main__ import environment

#: Written into each file of a pupil's: it leaves a mark where it runs, under whatever name.
LEAVES_A_MARK = "open({mark!r}, 'a').write(__name__ + '\\n')\n"
MARKED = """
import sys
from rhythmlab.__main__ import main
code = main(["grade", sys.argv[1], "--to", sys.argv[2]])
print("\\n".join({name.partition(".")[0] for name in sys.modules}))
sys.exit(code)
"""
ON_A_PAGE = """
import rhythmlab as rl
book = rl.classroom.gradebook(".", due="2030-05-04T18:00+02:00")
book.write("marks")
len(book._repr_html_()), len(book.csv)
"""


def run(*words, cwd, env=None):
    """Run a command in a folder, and return what it wrote; it must end well."""
    done = subprocess.run(
        [str(word) for word in words], cwd=cwd, env=env, capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def imported(tmp_path_factory):
    """Give every module that marking imports, and every other that Python or a package here could import."""
    folder = tmp_path_factory.mktemp("honest")
    rl.classroom.write_assignment("grid-and-composite", folder / "returned", seats=[1])
    said = run(sys.executable, "-c", MARKED, "returned", "marks", cwd=folder)
    marking = set(said.split("\n")) - {""}
    assert {"numpy", "json", "csv", "rhythmlab"} <= marking
    names = marking | set(sys.stdlib_module_names) | set(packages_distributions())
    names |= {"sitecustomize", "usercustomize", "readline", "words", "content", "cli", "gradebook"}
    return sorted(name for name in names if name.isidentifier() and name != "__main__")


@pytest.fixture
def returned(tmp_path, imported):
    """Fill a folder with two pages and with a file, or a folder, for each of these modules."""
    folder = tmp_path / "returned"
    rl.classroom.write_assignment("grid-and-composite", folder, seats=[1, 2])
    code = LEAVES_A_MARK.format(mark=str(tmp_path / "ran"))
    for name in imported:
        (folder / f"{name}.py").write_text(code)
    for name in ("rhythmlab", "numpy", "csv"):
        (folder / f"{name}.py").unlink()
        (folder / name).mkdir()
        for inside in ("__init__", "__main__"):
            (folder / name / f"{inside}.py").write_text(code)
    return folder


def ran(folder):
    """Return which of a pupil's files ran."""
    mark = folder.parent / "ran"
    return mark.read_text().split() if mark.exists() else []


def test_such_files_do_run_where_nothing_is_done_about_it(returned):
    """The trap works: a plain Python that stands there runs them."""
    subprocess.run([sys.executable, "-c", "import csv"], cwd=returned, capture_output=True)
    assert ran(returned)


@pytest.mark.parametrize("way", ["python -m", "command"])
def test_marking_from_inside_the_folder_runs_none_of_them(returned, way):
    """Neither ``python -m rhythmlab`` nor the console command."""
    here = Path(sysconfig.get_path("scripts"))
    start = [sys.executable, "-m", "rhythmlab"] if way == "python -m" else [here / "rhythmlab"]
    said = run(*start, "grade", ".", "--assignment", "grid-and-composite", cwd=returned)
    assert "2 pages count." in said
    assert ran(returned) == []


def test_handing_out_from_inside_the_folder_runs_none_of_them(returned, tmp_path):
    """Nor does ``assign``."""
    run(
        *(sys.executable, "-m", "rhythmlab", "assign", "gap-cycles", "--to", tmp_path / "out"),
        cwd=returned,
    )
    assert ran(returned) == []


def test_the_launcher_runs_none_of_them(returned, tmp_path):
    """Nor does the launcher, up to JupyterLab itself, which looks for its settings and prints its version."""
    run(
        *(sys.executable, "-m", "rhythmlab", tmp_path / "pages", "--no-browser", "--", "--version"),
        cwd=returned,
    )
    assert ran(returned) == []


def test_a_page_that_lies_among_them_runs_none_of_them(returned):
    """A teacher's page in that very folder, in the kernel as the launcher has it started."""
    from jupyter_client.manager import KernelManager

    manager = KernelManager(kernel_name="python3")
    manager.start_kernel(cwd=str(returned), env=environment(returned))
    client = manager.client()
    client.start_channels()
    try:
        client.wait_for_ready(timeout=60)
        reply = client.execute_interactive(ON_A_PAGE, timeout=120, output_hook=lambda _: None)
    finally:
        client.stop_channels()
        manager.shutdown_kernel(now=True)
    assert reply["content"]["status"] == "ok", reply["content"]
    assert (returned / "marks" / "marks.csv").is_file()
    assert ran(returned) == []


def test_names_load_from_where_they_are_installed(returned):
    """Where a notebook started otherwise looks beside itself first, the package still does not."""
    code = (
        "import sys, rhythmlab as rl, os\n"
        f"os.chdir({str(returned)!r})\n"
        "sys.path.insert(0, '')\n"
        f"{ON_A_PAGE}\n"
        "assert sys.path[0] == ''\n"
    )
    env = dict(os.environ, PYTHONDONTWRITEBYTECODE="1")
    run(sys.executable, "-c", code, cwd=returned.parent, env=env)
    assert ran(returned) == []


def test_the_readers_path_is_as_it_was(monkeypatch):
    """Loading a name leaves the path as it found it, also where the module is not there."""
    monkeypatch.setattr(sys, "path", ["first", "", *sys.path])
    before = list(sys.path)
    monkeypatch.delitem(rl.playing.__dict__, "learning_order", raising=False)
    assert callable(rl.playing.learning_order)
    assert sys.path == before


def test_the_page_for_the_teacher_says_the_safe_command():
    """README and the teacher's page show the command that runs nothing of a pupil's."""
    root = Path(__file__).parent.parent
    assert ".venv/bin/rhythmlab grade returned" in (root / "README.md").read_text()
    page = json.loads((root / "notebooks" / "assignments" / "mark-a-class.ipynb").read_text())
    assert any("`rhythmlab grade " in "".join(cell["source"]) for cell in page["cells"])
