"""The plain-HTTP page for a new phone: the authority's certificate, its fingerprint, how to install it; nothing else.

The two phone families are told apart by what their settings say; the menu names are from memory and differ a little
between releases.
"""

import base64
import hashlib
from html import escape

CERTIFICATE_PATH = "/overbowl-authority.crt"

STYLE = """
:root { color-scheme: light dark; --paper: #faf6ea; --ink: #1c1a15; }
@media (prefers-color-scheme: dark) { :root { --paper: #14120e; --ink: #efe9da; } }
body { background: var(--paper); color: var(--ink); font: 18px/1.5 system-ui, sans-serif; }
body { margin: 0 auto; max-width: 40rem; padding: 1rem; }
h1 { font-size: 1.6rem; line-height: 1.2; } h2 { border-top: 1px solid; font-size: 1.2rem; padding-top: 1rem; }
a { color: inherit; display: inline-block; font-weight: 700; min-height: 48px; }
code { font-size: 1.2rem; overflow-wrap: anywhere; } li { margin-bottom: .5rem; }
"""

FAMILIES = {
    "A phone that lists “CA certificate” in its settings": (
        "Download the certificate above.",
        "Open Settings and search for “CA certificate”. It is under Security, Encryption and credentials, Install a certificate.",
        "Choose CA certificate, read the warning, choose Install anyway, and pick the downloaded file.",
        "Open the page's address below. In the browser's menu choose Install app or Add to Home screen.",
    ),
    "A phone that says “Profile downloaded”": (
        "Open this page in the browser that came with the phone, download the certificate above and choose Allow.",
        "Open Settings, choose Profile Downloaded near the top, then Install.",
        "In Settings open General, About, Certificate Trust Settings, and switch on this certificate.",
        "Open the page's address below. Choose Share, then Add to Home Screen.",
    ),
}


def application(network):
    """A WSGI application that gives the certificate of a `webapp.access.lan.Network` and the page around it."""

    def answer(environ, start_response):
        status, type, body = _answer(network, environ["REQUEST_METHOD"], environ["PATH_INFO"])
        start_response(status, [("Content-Type", type), ("Content-Length", str(len(body))), *_headers()])
        return [b"" if environ["REQUEST_METHOD"] == "HEAD" else body]

    return answer


def _answer(network, method, path):
    if method not in ("GET", "HEAD"):
        return "405 Method Not Allowed", "text/plain; charset=utf-8", b"There is nothing to send here.\n"
    if path == "/":
        page = _page(network.page_addresses(), network.certificates.fingerprint)
        return "200 OK", "text/html; charset=utf-8", page.encode()
    if path == CERTIFICATE_PATH:
        return "200 OK", "application/x-x509-ca-cert", network.certificates.authority_der
    return "404 Not Found", "text/plain; charset=utf-8", b"Only the certificate is here.\n"


def _headers():
    digest = base64.b64encode(hashlib.sha256(STYLE.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; frame-ancestors 'none'"
    return [
        ("Content-Security-Policy", policy),
        ("Cache-Control", "no-store"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
    ]


def _items(texts):
    return "".join(f"<li>{escape(text)}</li>" for text in texts)


def _page(addresses, fingerprint):
    steps = "".join(f"<h2>{family}</h2><ol>{_items(told)}</ol>" for family, told in FAMILIES.items())
    links = "".join(f'<p><a href="{escape(address)}">{escape(address)}</a></p>' for address in addresses)
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this machine – Overbowl</title>
<style>{STYLE}</style>
</head>
<body>
<h1>Let this phone trust your Overbowl machine</h1>
<p>A page works with no signal only if it came over a secure connection. For that the phone must trust the private
authority of the machine that serves it. It is done once for each phone.</p>
<p><a href="{CERTIFICATE_PATH}">Download the certificate</a></p>
<p>Install it only if the phone shows the same SHA-256 fingerprint as the machine's terminal:</p>
<p><code>{fingerprint}</code></p>
<p>This authority can vouch for private network addresses and for this machine's name under .local, for nothing else. Remove it
in the phone's settings when you no longer need it.</p>
{steps}
<h2>Then open the page</h2>
{links}
<p>The page asks for the code that the machine shows. An installed page may have to be paired itself: ask the machine
for another code then.</p>
</body>
</html>
"""
