"""A server on a bare socket, for what no decent server does: dripping, breaking off, lying."""

from __future__ import annotations

import contextlib
import socket
import threading
import time


class RawServer:
    """Sends given pieces to each who connects, with a pause between them."""

    def __init__(self, pieces, pause=0.0):
        self.pieces, self.pause, self.heard = pieces, pause, []
        self._socket = socket.create_server(("127.0.0.1", 0))
        self._socket.settimeout(0.05)  # closing a socket does not wake who waits on it
        self.port = self._socket.getsockname()[1]
        self._stopped = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *_):
        self._stopped.set()
        self._socket.close()
        self._thread.join(timeout=5)

    def _serve(self):
        while not self._stopped.is_set():
            try:
                near, _ = self._socket.accept()
            except TimeoutError:
                continue
            except OSError:
                return
            near.settimeout(10)
            with near, contextlib.suppress(OSError):
                self.heard.append(near.recv(65536))
                for piece in self.pieces:
                    near.sendall(piece)
                    if self._stopped.wait(self.pause):
                        break


def drip(data, seconds=0.2):
    """Return a server that sends one byte at a time."""
    return RawServer([data[k : k + 1] for k in range(len(data))], pause=seconds)


def took(started):
    """Return seconds since a moment."""
    return time.monotonic() - started
