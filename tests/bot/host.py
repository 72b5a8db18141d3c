"""Other sites' pages with the widget's script tag on them, served from an origin of their own."""

from __future__ import annotations

import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

from tests.bot.browser import Page

PLAIN = """<!doctype html><html lang="en-GB"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>A council</title>{style}
<script src="{lidwise}/web/embed.js" {tag} async></script></head>
<body><main><h1>Bins</h1><p id="text">What goes where?</p>
<p><a id="ask" href="{lidwise}/?q=pizza%20box" data-lidwise-ask="pizza box">Pizza boxes</a>
<a id="hash" href="#lidwise=used%20tissues">Tissues</a>
<button id="host-button" type="button">A button</button></p>
<p id="long">{long}</p></main></body></html>"""
NASTY = """<style>
html { font-size: 9px !important; }
* { font-size: 40px !important; display: none !important; color: lime !important;
  letter-spacing: 9px !important; position: static !important; }
html, body, main, h1, p { display: block !important; }
button { all: unset !important; } dialog { opacity: 0 !important; }
:root { --page: lime; --ink: lime; --rem: 60px; --letters: fantasy; }
lidwise-chat { display: none !important; visibility: hidden !important; --page: lime; }
</style>"""


def strict(lidwise: str) -> str:
    """The narrowest content security policy the README tells a site to set."""
    return (
        f"default-src 'none'; script-src {lidwise}; connect-src {lidwise}; img-src {lidwise}; "
        "style-src 'none'; base-uri 'none'; form-action 'none'; trusted-types 'none'; "
        "require-trusted-types-for 'script'"
    )


class Host:
    """A small site. `pages` holds what it serves; add to it before opening."""

    def __init__(self, lidwise: str) -> None:
        self.lidwise = lidwise
        site = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                body, headers = site.page(self.path.split("?")[0])
                self.send_response(200 if body else 404)
                for name, value in headers.items():
                    self.send_header(name, value)
                self.send_header("content-type", "text/html; charset=utf-8")
                self.send_header("content-length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_: object) -> None:
                """Nothing."""

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.address = f"http://127.0.0.1:{self.server.server_port}"
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def page(self, path: str) -> tuple[bytes, dict[str, str]]:
        kinds = {"/plain", "/nasty", "/strict", "/left", "/empty"}
        if path not in kinds:
            return b"", {}
        text = PLAIN.format(
            lidwise=self.lidwise,
            style=NASTY if path == "/nasty" else "",
            tag='data-position="left" data-district="oxmere"' if path == "/left" else "",
            long="Much more about bins. " * 900,
        )
        if path == "/empty":
            text = "<!doctype html><title>Nothing</title>"
        policy = {"content-security-policy": strict(self.lidwise)}
        return text.encode(), policy if path == "/strict" else {}

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()


class Widget(Page):
    """The widget on another site's page; what is looked for is looked for in its shadow root."""

    def __init__(self, driver, address: str, host: Host) -> None:
        super().__init__(driver, address)
        self.site = host

    def visit(self, path: str, opened: bool = False) -> None:
        self.driver.get("about:blank")
        self.driver.get(self.site.address + path)
        self.until(lambda: self.there(), "the widget is there")
        if opened:
            self.open_panel()

    def there(self) -> bool:
        return bool(
            self.js("const h = document.querySelector('lidwise-chat'); return h && h.shadowRoot")
        )

    def open_panel(self) -> None:
        self.one(".launcher").click()
        self.settled()

    def settled(self) -> None:
        self.until(
            lambda: (
                self.all("dialog.panel[open]")
                and (self.shown("#district-form") or self.shown("#district-set"))
            ),
            "the panel is set up",
        )

    def all(self, css: str):
        host = self.driver.find_elements("css selector", "lidwise-chat")
        return host[0].shadow_root.find_elements("css selector", css) if host else []

    def outside(self, css: str):
        return self.driver.find_element("css selector", css)

    def focused(self) -> str:
        """What has the focus, by id or class; of the page around with `page:` before it."""
        return str(
            self.js(
                "const d = document.activeElement, n = d.shadowRoot && d.shadowRoot.activeElement;"
                "return n ? n.id || n.className : 'page:' + (d.id || d.tagName);"
            )
        )

    def in_root(self, script: str, *more):
        """Run a script with `root` as the widget's shadow root."""
        root = "const root = document.querySelector('lidwise-chat').shadowRoot; "
        return self.js(root + script, *more)

    def fresh(self) -> None:
        super().fresh()
        self.driver.get(self.site.address + "/empty")
        self.js("sessionStorage.clear()")
        for kind in ("browser", "performance"):
            self.driver.get_log(kind)
