"""A real JupyterLab, started by the launcher on a fresh folder, in a real Chromium."""

import contextlib
import json
import os
import shutil
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Page

from rhythmlab.working_folder import prepare
from tests.browser.bare import drawn
from tests.waiting import until

#: Where screenshots are kept, to be looked at.
SHOTS = Path(os.environ.get("RHYTHMLAB_SHOTS", "") or Path(__file__).parents[2] / ".shots")

#: Holds the callbacks of every panel, as a cell that takes long does, until the page says that it is enough.
BUSY = """
import time, pathlib
from rhythmlab.panels.errors import ONE_AT_A_TIME
with ONE_AT_A_TIME:
    path = pathlib.Path({path!r})
    path.touch()
    while path.exists():
        time.sleep(0.02)
"""


class Server:
    """A running JupyterLab on a working folder."""

    def __init__(self, folder: Path) -> None:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.folder, self.token = folder, "a-token-for-the-tests"
        self.log = folder.parent / "lab.log"
        more = [f"--port={self.port}", f"--IdentityProvider.token={self.token}", "--ip=127.0.0.1"]
        more += ["--LabApp.expose_app_in_browser=True"]  # so that a page that is open can open another
        command = [sys.executable, "-m", "rhythmlab", str(folder), "--no-browser", "--", *more]
        env = {**os.environ, "JUPYTER_CONFIG_DIR": str(folder.parent / "config")}
        env |= {
            "JUPYTER_DATA_DIR": str(folder.parent / "share"),
            "JUPYTER_RUNTIME_DIR": str(folder.parent / "run"),
        }
        with self.log.open("w") as log:
            self.process = subprocess.Popen(
                command, stdout=log, stderr=subprocess.STDOUT, env=env, cwd=folder.parent
            )
        try:
            self._wait()
        except BaseException:
            self.stop()
            raise

    def _wait(self) -> None:
        def answers() -> bool:
            assert self.process.poll() is None, f"JupyterLab did not start:\n{self.log.read_text()[-3000:]}"
            with contextlib.suppress(OSError):
                self.ask("api")
                return True
            return False

        until(answers, 60, "JupyterLab")

    def ask(self, what: str, method: str = "GET") -> bytes:
        """Ask the server."""
        address = f"http://127.0.0.1:{self.port}/{what}?token={self.token}"
        with urllib.request.urlopen(urllib.request.Request(address, method=method), timeout=30) as answer:
            return answer.read()

    def stop(self) -> None:
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


class Lab:
    """A fresh working folder in a running JupyterLab, as the launcher makes one."""

    def __init__(self, server: Server, name: str) -> None:
        self.server, self.port, self.token, self.name = server, server.port, server.token, name
        self.folder, self.address = server.folder / name, f"http://127.0.0.1:{server.port}/lab"
        prepare(self.folder)
        shutil.rmtree(server.folder.parent / "config" / "lab" / "user-settings", ignore_errors=True)

    def url(self, page: str) -> str:
        return f"{self.address}/tree/{self.name}/{page}?token={self.token}&reset"

    def stop(self) -> None:
        """Stop every kernel."""
        for session in json.loads(self.server.ask("api/sessions")):
            self.server.ask(f"api/sessions/{session['id']}", "DELETE")

    def run_in_kernel(self, code: str) -> Callable[[], None]:
        """Have the kernel that was started last run code, beside the page; return how to let go of it."""
        from jupyter_client import BlockingKernelClient

        files = (self.server.folder.parent / "run").glob("kernel-*.json")
        client = BlockingKernelClient(connection_file=str(max(files, key=lambda file: file.stat().st_mtime)))
        client.load_connection_file()
        client.start_channels()
        client.execute(code)
        return client.stop_channels


#: Closes what is open in JupyterLab, unsaved, forgets what panels kept in the browser, opens another page.
_TURN_TO = """async (path) => {
  const { shell, commands } = window.jupyterapp;
  for (const widget of [...shell.widgets("main")]) {
    if (widget.context?.model) widget.context.model.dirty = false;
    widget.dispose();
  }
  const ours = Object.keys(localStorage).filter((key) => key.startsWith("rhythmlab"));
  ours.forEach((key) => localStorage.removeItem(key));
  await commands.execute("docmanager:open", { path });
}"""


def open_page(page: Page, lab: Lab, name: str) -> None:
    """Open a notebook and wait until its kernel can run.

    Where JupyterLab is open in the page already it stays, and only the notebook is another: to load it all
    took twice as long as most tests.
    """
    if page.url.startswith(lab.address) and page.evaluate("!!window.jupyterapp"):
        page.evaluate(_TURN_TO, f"{lab.name}/{name}")
    else:
        page.goto(lab.url(name))
    page.wait_for_selector(".jp-Notebook .jp-Cell", timeout=60_000)
    page.wait_for_selector("text=/ipykernel\\) \\| Idle/", timeout=60_000)


def run_all(page: Page, *, skip: bool = True) -> None:
    """Choose Run, Run All Cells in the menu, wait until the last code cell has run, and skip the guess."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.locator(".lm-Menu-itemLabel", has_text="Run All Cells").first.click()
    page.wait_for_function(
        """() => {
            const cells = [...document.querySelectorAll('.jp-CodeCell .jp-InputPrompt')];
            const prompts = cells.map(cell => cell.textContent);
            const idle = document.querySelector('.jp-Notebook-ExecutionIndicator[data-status=idle]');
            return idle && prompts.includes('[1]:') && !prompts.some(p => p === '[*]:' || p === '[ ]:');
        }""",
        timeout=60_000,
    )
    if skip and page.locator(".jp-CodeCell", has_text="guess=").count():
        skip_guesses(page)


def skip_guesses(page: Page) -> None:
    """Wait until every guess of the page is drawn, and skip those that are not made."""
    page.wait_for_function(
        """() => {
            const asked = [...document.querySelectorAll('.rl-guess:not([hidden])')];
            return asked.length > 0 && asked.every(one => one.querySelector('.rl-field span').textContent);
        }""",
        timeout=20_000,
    )
    skips = page.locator(".rl-covered").get_by_role("button", name="Skip")
    while skips.count():
        skips.first.click()
        drawn(page)


def settled(page: Page) -> None:
    """Wait until the kernel is idle, so that all it had to say has come, and the page has drawn it."""
    page.wait_for_selector(".jp-Notebook-ExecutionIndicator[data-status=idle]", state="attached")
    drawn(page)


def end_sessions(page: Page, lab: Lab) -> None:
    """Stop every kernel, as a night does."""
    api = f"http://127.0.0.1:{lab.port}/api/sessions"
    for session in page.request.get(f"{api}?token={lab.token}").json():
        page.request.delete(f"{api}/{session['id']}?token={lab.token}")


def shot(page: Page, name: str) -> None:
    """Keep a screenshot."""
    SHOTS.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=SHOTS / f"{name}.png")
