"""The wheel: built once, installed elsewhere, complete, and usable where nobody may write to it."""

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path, PurePosixPath

import pytest

import rhythmlab as rl

ROOT = Path(__file__).parent.parent
CARRIED = ("rhythmlab", "data", "notebooks")
DUST = ("__pycache__", ".ipynb_checkpoints")

# Run in the installed wheel: says where things are, then brings the pages to the folder given.
LOOK = """
import os
import sys
from pathlib import Path

import rhythmlab as rl
from rhythmlab import resources, working_folder
import rhythmlab.__main__ as launcher

print(Path(rl.__file__).parent)
print(resources.folder("data"))
print(resources.folder("notebooks"))
assert rl.limits()["flam"].citation
assert rl.composite(rl.Polyrhythm(7, 4)).intervals.sum() == 28
settings = Path(launcher.environment(Path(sys.argv[1]))["JUPYTER_CONFIG_PATH"].split(os.pathsep)[0])
assert (settings / "labconfig" / "default_setting_overrides.json").is_file()
assert (Path(rl.__file__).parent / "LICENSE").read_text().startswith("MIT License")
working_folder.prepare(sys.argv[1])
working_folder.prepare(sys.argv[1])
"""


def files(folder):
    """Return the files below a folder, without what Python and JupyterLab leave behind."""
    paths = (path.relative_to(folder) for path in folder.rglob("*") if path.is_file())
    return {path.as_posix() for path in paths if not set(DUST) & set(path.parts)}


@pytest.fixture(scope="module")
def checkout(tmp_path_factory):
    """Copy what a wheel is built from, so that the build leaves nothing in the checkout."""
    checkout = tmp_path_factory.mktemp("checkout")
    for name in CARRIED:
        shutil.copytree(ROOT / name, checkout / name, ignore=shutil.ignore_patterns(*DUST))
        (checkout / name / "__pycache__").mkdir()
        (checkout / name / "__pycache__" / "left.pyc").write_bytes(b"left behind")
    for name in ("pyproject.toml", "README.md", ".gitignore"):
        shutil.copyfile(ROOT / name, checkout / name)
    (checkout / "tests").mkdir()
    (checkout / "tests" / "test_left.py").write_text("left = 1\n")
    return checkout


@pytest.fixture(scope="module")
def wheel(checkout, tmp_path_factory):
    """Build the wheel."""
    place = tmp_path_factory.mktemp("wheel")
    run("build", "--wheel", "--no-isolation", "--outdir", place, checkout)
    (wheel,) = place.iterdir()
    return wheel


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """Install the wheel in a folder of its own, which nobody may write to."""
    place = tmp_path_factory.mktemp("installed")
    run("pip", "install", "--no-index", "--no-deps", "--no-compile", "--target", place, wheel)
    everything = [place, *place.rglob("*")]
    for path in everything:
        path.chmod(0o555 if path.is_dir() else 0o444)
    yield place
    for path in everything:
        path.chmod(0o755 if path.is_dir() else 0o644)


def run(*command, **more):
    done = subprocess.run(
        [sys.executable, "-m", *map(str, command)], capture_output=True, text=True, check=False, **more
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_wheel_holds_exactly_what_the_checkout_does(checkout, wheel):
    """Every module, script, style, table and page has its place; tests and caches have none."""
    expected = {f"rhythmlab/{name}" for name in files(checkout / "rhythmlab")}
    expected = expected - {"rhythmlab/rhythmlab-first.pth"} | {"rhythmlab-first.pth"}
    expected |= {f"rhythmlab/data/{name}" for name in files(checkout / "data")}
    expected |= {f"rhythmlab/notebooks/{name}" for name in files(checkout / "notebooks")}
    with zipfile.ZipFile(wheel) as archive:
        names = {name for name in archive.namelist() if ".dist-info" not in PurePosixPath(name).parts[0]}
    assert names - expected == set(), "in the wheel, but not in the checkout"
    assert expected - names == set(), "in the checkout, but not in the wheel"


@pytest.mark.parametrize(
    "pattern",
    [
        "rhythmlab/CHANGES.md",
        "rhythmlab/LICENSE",
        "rhythmlab/jupyter/labconfig/default_setting_overrides.json",
        "rhythmlab/data/README.md",
        "rhythmlab/data/limits.csv",
        "rhythmlab/data/sources.csv",
        "rhythmlab/notebooks/00-*.ipynb",
        "rhythmlab/panels/stage/*.mjs",
        "rhythmlab/panels/stage/*.css",
    ],
)
def test_wheel_holds_each_kind_of_file(wheel, pattern):
    """The kinds of file that are most easily left out of a wheel are there."""
    with zipfile.ZipFile(wheel) as archive:
        assert [name for name in archive.namelist() if PurePosixPath(name).match(pattern)]


def test_wheel_carries_the_licence(wheel):
    """The licence text is in the package and in the wheel's own record."""
    with zipfile.ZipFile(wheel) as archive:
        texts = [archive.read(name) for name in archive.namelist() if name.endswith("LICENSE")]
    assert len(texts) == 2
    assert set(texts) == {(ROOT / "rhythmlab" / "LICENSE").read_bytes()}


def test_installed_wheel_brings_its_pages(installed, tmp_path):
    """Installed elsewhere and closed to writing, it finds its data and pages, and copies can be saved."""
    before = {path: path.stat().st_mtime_ns for path in installed.rglob("*")}
    env = os.environ | {"PYTHONPATH": str(installed), "PYTHONDONTWRITEBYTECODE": "1"}
    (tmp_path / "look.py").write_text(LOOK)
    done = subprocess.run(
        [sys.executable, "-W", "error", tmp_path / "look.py", tmp_path / "pages"],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    package = installed / "rhythmlab"
    assert done.stdout.splitlines() == [str(package), str(package / "data"), str(package / "notebooks")]
    copied = files(tmp_path / "pages") - {".rhythmlab.json"}
    assert copied == files(ROOT / "notebooks")
    for name in copied:
        assert (tmp_path / "pages" / name).read_bytes() == (package / "notebooks" / name).read_bytes()
        assert (tmp_path / "pages" / name).stat().st_mode & 0o200
    assert {path: path.stat().st_mtime_ns for path in installed.rglob("*")} == before


def test_installed_wheel_answers_its_two_commands(installed, tmp_path):
    """The module and the console script's function are there: help from elsewhere works."""
    env = os.environ | {"PYTHONPATH": str(installed), "PYTHONDONTWRITEBYTECODE": "1"}
    assert "never overwritten" in run("rhythmlab", "--help", cwd=tmp_path, env=env)
    entry = next(installed.glob("*.dist-info/entry_points.txt")).read_text()
    assert "rhythmlab = rhythmlab.__main__:main" in entry


def test_installed_wheel_runs_nothing_that_lies_where_it_is_started(wheel, tmp_path):
    """``python -m rhythmlab`` marks a folder that holds a file for every module there is, and runs none."""
    home = tmp_path / "environment"
    venv.create(home, with_pip=False)
    python = home / ("Scripts" if os.name == "nt" else "bin") / "python"
    there = Path(sysconfig.get_path("purelib", vars={"base": str(home), "platbase": str(home)}))
    run("pip", "install", "--no-index", "--no-deps", "--no-compile", "--target", there, wheel)
    (there / "the-rest.pth").write_text(sysconfig.get_path("purelib"))  # NumPy is found there, after ours
    returned, mark = tmp_path / "returned", tmp_path / "ran"
    rl.classroom.write_assignment("grid-and-composite", returned, seats=[1])
    for name in (*sys.stdlib_module_names, "numpy", "rhythmlab", "mido", "traitlets"):
        (returned / f"{name}.py").write_text(f"open({str(mark)!r}, 'a').write(__name__)\n")
    done = subprocess.run(
        [python, "-m", "rhythmlab", "grade", "."], cwd=returned, capture_output=True, text=True, check=False
    )
    assert "1 page counts." in done.stdout, done.stderr
    assert not mark.exists()
    where = subprocess.run(
        [python, "-c", "import rhythmlab; print(rhythmlab.__file__)"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    )
    assert Path(where.stdout.strip()).parent == there / "rhythmlab"
