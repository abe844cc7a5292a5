"""A waitress server on a thread of its own."""

import threading

import waitress

LARGEST_BODY = 2 * 1024 * 1024


class Server:
    """Serves a WSGI application on (host, port), port 0 for any free one, until `stop`. Errors: OSError.

    `options` are waitress's. Larger bodies than LARGEST_BODY are turned away before they are stored anywhere.
    """

    def __init__(self, application, host, port, **options):
        options = {"ident": None, "max_request_body_size": LARGEST_BODY, **options}
        self._server = waitress.create_server(application, host=host, port=port, **options)
        self.port = int(self._server.effective_port)
        self._thread = threading.Thread(target=self._server.run, name=f"waitress {self.port}", daemon=True)
        self._thread.start()

    def stop(self):
        """Close the port, and wait a little for answers under way. Safe to call twice."""
        if self._thread.is_alive():
            # In the server's own thread: closing sockets under its feet would break its loop.
            self._server.trigger.pull_trigger(self._server.close)
            self._thread.join(timeout=2)
        self._server.task_dispatcher.shutdown(timeout=2)
