"""The connection between a page and its kernel, on which every message is sent at once.

JupyterLab's server leaves its sockets as the system makes them.
There a message such as *the kernel is busy* keeps the next one back, the new picture, until the browser's
system has confirmed it (RFC 896), and that may put its confirmation off; 40 ms were measured in one of ten.
"""

from typing import Any

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection


class PromptConnection(ZMQChannelsWebsocketConnection):
    """A connection that waits for no confirmation before it sends more."""

    def connect(self) -> Any:
        """Open it as ever, on a socket that does not wait."""
        self.websocket_handler.set_nodelay(True)
        return super().connect()
