"""The connection between a page and its kernel keeps no message back."""

import asyncio
import contextlib
import json
import socket
import subprocess
import sys
from types import SimpleNamespace

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from jupyter_server.services.kernels.websocket import KernelWebsocketHandler
from tornado.iostream import IOStream
from traitlets.utils.importstring import import_item

from rhythmlab.__main__ import environment
from rhythmlab.prompt_connection import PromptConnection


def test_a_socket_waits_for_no_confirmation_when_its_connection_opens(monkeypatch):
    """Before a connection opens as ever, its socket is told to send at once."""

    async def opened() -> tuple[int, int]:
        with contextlib.ExitStack() as closing:
            server = closing.enter_context(socket.create_server(("127.0.0.1", 0)))
            browser = closing.enter_context(socket.socket())
            browser.connect(server.getsockname())
            stream = IOStream(server.accept()[0])
            closing.callback(stream.close)

            def at_once(*_):
                return stream.socket.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)

            before = at_once()
            monkeypatch.setattr(ZMQChannelsWebsocketConnection, "connect", at_once)
            handler = KernelWebsocketHandler.__new__(KernelWebsocketHandler)
            handler.ws_connection = SimpleNamespace(set_nodelay=stream.set_nodelay)
            then = PromptConnection(websocket_handler=handler).connect()
            return before, then

    before, then = asyncio.run(opened())
    assert (before, bool(then)) == (0, True)


def test_jupyterlab_as_the_launcher_starts_it_uses_this_connection(tmp_path):
    """It reads a setting that names the class, and the class is there."""
    env = environment(tmp_path) | {"JUPYTER_CONFIG_DIR": str(tmp_path / "none")}
    command = [sys.executable, "-m", "jupyterlab", "--show-config-json"]
    said = subprocess.run(command, env=env, capture_output=True, text=True, check=True, timeout=60).stdout
    named = json.loads(said)["ServerApp"]["kernel_websocket_connection_class"]
    assert import_item(named) is PromptConnection
