"""Who may ask: only this machine's own names as Host, no cross-site writes; and the security headers of every response."""

from urllib.parse import urlsplit

from flask import abort, request

OWN_HOSTS = frozenset({"127.0.0.1", "localhost", "::1"})

# Nothing from anywhere else, nothing inline; the page and its cached copy live under it.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "manifest-src 'self'; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)

HEADERS = {
    "Content-Security-Policy": POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


def protect(app):
    """Refuse foreign Hosts (DNS rebinding) and cross-site writes on `app`, and add the security headers.

    HOSTS of the app's config are further names or addresses of this machine, without port; they may change.
    """

    @app.before_request
    def _check():
        name = host_name(request.headers.get("Host", ""))
        if not name or name not in OWN_HOSTS | {host.casefold() for host in app.config["HOSTS"]}:
            abort(421, "This server answers only under its own name; open it by the address it printed.")
        if request.method not in ("GET", "HEAD") and not same_origin():
            abort(403, "Requests from other sites are refused.")

    @app.after_request
    def _add_headers(response):
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        return response


def host_name(host):
    """Return the lower-case name in a Host header, without port and brackets; "" where it is malformed.

    >>> host_name("LOCALHOST:8087"), host_name("[::1]:8087"), host_name("a b")
    ('localhost', '::1', '')
    """
    if not host or any(letter in host for letter in " @/\\?#,"):
        return ""
    try:
        return (urlsplit(f"//{host}").hostname or "").casefold()
    except ValueError:
        return ""


def same_origin():
    """True for a request of our own page or of no page at all (a script without browser headers)."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None and site not in ("same-origin", "none"):
        return False
    origin = request.headers.get("Origin")
    return origin is None or urlsplit(origin).netloc.casefold() == request.headers.get("Host", "").casefold()
