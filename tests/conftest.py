"""A real browser and a real JupyterLab, for the tests and the benchmarks that ask for them."""

import gc
import shutil

import pytest
from hypothesis import settings

from tests.profile import CI

#: A reader's run tries the same examples every time; where every change is checked they are drawn at random,
#: and what failed can be drawn again from the seed that is printed. How many there are is in `tests.profile`.
settings.register_profile("reader", derandomize=True)
settings.register_profile("change", derandomize=False, print_blob=True)
settings.load_profile("change" if CI else "reader")

FLAGS = [
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]

#: Of a browser page.
SIZE = {"width": 1280, "height": 720}


def pytest_collection():
    """Look for no garbage while tests are collected: nearly all stays, and the search took a quarter."""
    gc.disable()


def pytest_collection_finish():
    """Keep what was collected out of Python's search for garbage, which took a tenth of a run."""
    gc.enable()
    gc.collect()
    gc.freeze()


def pytest_sessionfinish(session):
    """Where every change is checked nothing may be skipped: a skipped test fails the run there."""
    reporter = session.config.pluginmanager.getplugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    if CI and skipped:
        reporter.write_line("")
        for report in skipped:
            reporter.write_line(f"FAILED, because skipped: {report.nodeid}: {report.longrepr[-1]}")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


@pytest.fixture(scope="session")
def _named_in_examples(tmp_path_factory):
    import rhythmlab as rl

    folder = tmp_path_factory.mktemp("named")
    rl.midi(rl.Polyrhythm(7, 4), rl.Tempo(72, pulse=1)).write(folder / "kit.mid")
    rl.classroom.write_assignment("grid-and-composite", folder / "returned", seats=[1, 2])
    return folder


@pytest.fixture
def elsewhere(_named_in_examples, tmp_path, monkeypatch):
    """Files that a call writes go to a folder of their own; copies of those that examples name are in it."""
    shutil.copytree(_named_in_examples, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="session")
def node():
    """Give Node, which alone runs the browser's part and may be missing on a reader's machine."""
    program = shutil.which("node")
    if program is None:
        pytest.skip("Node is not on this machine; see DEVELOPERS.md")
    return program


@pytest.fixture(scope="session")
def chromium():
    """Give the browser; a missing one is a failure, never a skip."""
    program = shutil.which("chromium")
    assert program, "chromium is not installed; on Debian: apt-get install chromium"
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def server(tmp_path_factory):
    """JupyterLab, started once by the launcher on a folder that did not exist."""
    from tests.browser.jupyter import Server

    running = Server(tmp_path_factory.mktemp("reader") / "pages")
    yield running
    running.stop()


@pytest.fixture(scope="module")
def lab(server, request):
    """Give the tests of a module a working folder of their own in it, with no settings left over."""
    from tests.browser.jupyter import Lab

    place = Lab(server, request.module.__name__.rpartition(".")[2])
    yield place
    place.stop()


@pytest.fixture(scope="session")
def _window(chromium):
    """One window for the pages of all tests: to open one costs as much as all that a page does in a test."""
    window = chromium.new_context(viewport=SIZE)
    window.new_page()  # with its last page it would go
    yield window
    window.close()


@pytest.fixture
def page(_window):
    """Give a fresh browser page, 1280 by 720, in which nothing is kept of another."""
    page = _window.new_page()
    yield page
    forget = page.context.new_cdp_session(page)
    origin = page.evaluate("location.origin")
    forget.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"})
    page.close()
    _window.clear_cookies()
    _window.clear_permissions()


@pytest.fixture(scope="session")
def _kept_open(chromium):
    context = chromium.new_context(viewport=SIZE)
    yield context.new_page()
    context.close()


@pytest.fixture
def one_lab(_kept_open):
    """Give a browser page in which JupyterLab stays open from test to test, as it does for a reader."""
    _kept_open.set_viewport_size(SIZE)
    _kept_open.evaluate("document.fullscreenElement && document.exitFullscreen()")
    return _kept_open
