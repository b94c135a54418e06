"""The wall page as a plain app in voila: no code to be seen, and two numbers typed sound."""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from rhythmlab import resources
from tests.browser.jupyter import shot
from tests.waiting import until

NAME = "put-two-numbers-on-the-wall.ipynb"


class App:
    """Voila, on a copy of one page."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        shutil.copy(resources.folder("notebooks") / "workshop" / NAME, folder / NAME)
        self.url, self.log = f"http://127.0.0.1:{port}/", folder / "voila.log"
        places = {f"JUPYTER_{name}_DIR": str(folder / name) for name in ("CONFIG", "DATA", "RUNTIME")}
        command = [sys.executable, "-m", "voila", NAME, "--no-browser", f"--port={port}"]
        with self.log.open("w") as log:
            self.process = subprocess.Popen(
                command, stdout=log, stderr=subprocess.STDOUT, env={**os.environ, **places}, cwd=folder
            )

        def answers() -> bool:
            assert self.process.poll() is None, f"voila did not start:\n{self.log.read_text()[-3000:]}"
            with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
                return True
            return False

        until(answers, 60, "voila")

    def stop(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    """Start voila on a fresh folder."""
    running = App(tmp_path_factory.mktemp("app"))
    yield running
    running.stop()


def test_the_wall_runs_as_an_app_without_code(app, page):
    """The panel is there, no code is; two numbers and two keys later strokes of both are scheduled."""
    page.goto(app.url, timeout=90_000)
    wall = page.locator(".rl-wall")
    wall.locator(".rl-picture svg").wait_for(timeout=90_000)
    assert "import rhythmlab" not in page.locator("body").inner_text()
    assert "rl.pages.wall(" not in page.locator("body").inner_text()
    assert (
        page.locator(".jp-CodeCell .jp-InputArea:visible, .highlight:visible, .cm-editor:visible").count()
        == 0
    )

    page.locator("body").press("5")  # with nothing in focus: on a page of its own the keys are the wall's
    page.keyboard.press("Tab")
    page.keyboard.type("3")
    page.keyboard.press("Enter")

    stage = page.locator(".rl-stage")
    page.wait_for_function(
        "document.querySelector('.rl-stage').rlEngine.report().scheduled > 6", timeout=15_000
    )
    assert stage.evaluate("el => el.rlEngine.playing()")
    assert wall.get_by_text("Right half (your left) the 5 and left half (your right) the 3.").is_visible()
    assert stage.evaluate("el => el.rlEngine.report().dropped") == 0
    shot(page, "voila-wall")
    page.keyboard.press("f")
    wall.get_by_text("Home is the 5").wait_for()
    page.keyboard.press("Escape")
    assert not stage.evaluate("el => el.rlEngine.playing()")
