"""Who may ask: only a page of this server's own, on this machine, that was opened by its whole address.

Each check stands against one thing. The Host header: names that somebody lets point here (DNS rebinding). The token:
other programs and people on this machine. Origin and Sec-Fetch-Site: other pages open in the same browser.
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from dataclasses import dataclass

HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
"""What every answer carries; the page itself has a wider policy for its own script and style."""


@dataclass(frozen=True)
class Guard:
    """Knows the server's port and token."""

    port: int
    token: str

    @property
    def address(self) -> str:
        """The address of the page."""
        return f"http://127.0.0.1:{self.port}/{self.token}/"

    def at(self, path: bytes) -> str | None:
        """Return what is asked for below the token's folder; None where the path is not exactly there.

        `path` is taken as it came, with nothing decoded: no path of ours has anything that wants it.
        """
        token, slash, asked = path[1:].partition(b"/")
        right = hmac.compare_digest(token, self.token.encode())
        return asked.decode("ascii", "replace") if right and slash and path[:1] == b"/" else None

    def admits(self, headers: Mapping[str, str], *, writing: bool, opening: bool) -> bool:
        """Whether a request's headers are those of our own page, or of somebody who opens it.

        `headers` by lower-case name. `writing`: it would change something. `opening`: it is for the page itself.
        """
        host = headers.get("host", "")
        if host not in (f"127.0.0.1:{self.port}", f"localhost:{self.port}"):
            return False
        origin, site = headers.get("origin"), headers.get("sec-fetch-site")
        if origin is not None and origin != f"http://{host}":
            return False
        if writing:
            return origin is not None and site in (None, "same-origin")
        return site in (None, "same-origin", "none") or (opening and headers.get("sec-fetch-mode") == "navigate")
