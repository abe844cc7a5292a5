"""A waitress server on a thread of its own."""

import threading

import waitress

LARGEST_BODY = 512 * 1024  # bytes; twice what any route takes
MOST_CONNECTIONS = 400  # each an open file, of which a process may have some 1,000
QUIET = 60  # s


def create(application, host, port, **options):
    """A waitress server, to be run. Errors: OSError, ValueError, OverflowError.

    Larger bodies than LARGEST_BODY are turned away before they are stored anywhere; smaller ones stay in memory. What a proxy says in headers comes
    through as it was sent: `webapp.access.pairing.is_here` looks for it, and nobody believes it. Many connections may lie
    idle; they are closed after a while.
    """
    bounds = {"max_request_body_size": LARGEST_BODY, "inbuf_overflow": 2 * LARGEST_BODY}
    bounds |= {"connection_limit": MOST_CONNECTIONS, "channel_timeout": QUIET, "cleanup_interval": 10}
    ours = {"ident": None, "clear_untrusted_proxy_headers": False, **bounds, **options}
    return waitress.create_server(application, host=host, port=port, **ours)


class Server:
    """Serves a WSGI application on (host, port), port 0 for any free one, until `stop`. Errors: OSError.

    `options` are waitress's.
    """

    def __init__(self, application, host, port, **options):
        self._server = create(application, host, port, **options)
        self.port = int(self._server.effective_port)
        self._thread = threading.Thread(target=self._server.run, name=f"waitress {self.port}", daemon=True)
        self._thread.start()
        self._is_stopping = False

    def stop(self):
        """Wait a little for answers under way, and close the port. Safe to call twice."""
        if self._is_stopping:  # its port is closed; the thread ends with the last connection
            return self._thread.join(timeout=2)
        self._is_stopping = True
        # First those who answer: one that has just done so wakes the loop, by a descriptor that is closed with it.
        self._server.task_dispatcher.shutdown(timeout=2)
        if self._thread.is_alive():
            # In the server's own thread: closing sockets under its feet would break its loop.
            woken = threading.Event()
            self._server.trigger.pull_trigger(lambda: self._close(woken))
            woken.set()
        return self._thread.join(timeout=2)

    def _close(self, woken):
        """Close the port, and what wakes the loop: a loop that was awake comes here while it is still being woken."""
        woken.wait(timeout=2)
        self._server.close()
