"""Opens HTML pages in headless Chromium at the width of a phone and of a desk, and fails on what a reader would stumble over.

    python3 tests/reference/browser.py PAGE.html ...      # or with --pictures DIR to keep what was seen

Needs Debian's `chromium` and `chromium-driver` and nothing else: the browser is driven by the W3C's WebDriver protocol
(W3C Recommendation "WebDriver", 2018), which is HTTP and JSON. No host but this one can be reached while it runs.

A page fails if it is wider than the window (`scrollWidth` above `innerWidth`), if anything is told on the console above an
information, if a picture was not loaded, or if it asks for anything outside of itself. Before any page is looked at, a page
with each of these faults has to be refused, so that a check that cannot fail is noticed.
"""

import base64
import json
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from pathlib import Path

WINDOWS = {"phone": (360, 800), "desk": (1280, 900)}
# Height of a kept piece of a page, pixels.
PIECE = 2000

# What a page says of itself once it is loaded; the last part lists whatever it fetched from elsewhere.
PROBE = """
    const pictures = [...document.images];
    await Promise.all(pictures.map((picture) => picture.decode().catch(() => null)));
    return {
        inner: window.innerWidth,
        scroll: document.scrollingElement.scrollWidth,
        height: document.scrollingElement.scrollHeight,
        pictures: pictures.length,
        broken: pictures.filter((picture) => picture.naturalWidth === 0).map((picture) => picture.alt),
        nameless: pictures.filter((picture) => !picture.alt.trim()).length,
        fetched: performance.getEntriesByType("resource").map((entry) => entry.name.slice(0, 80))
            .filter((name) => !name.startsWith("data:")),
    };
"""

FAULTS = {
    "wider than the window": "<div style='width: 3000px; height: 1px'></div>",
    "console": "<script>throw new Error('on purpose')</script>",
    "not loaded": "<img alt='a picture' src='data:image/png;base64,AAAA'>",
    "from elsewhere": "<img alt='a picture' src='http://localhost:9/picture.png'>",
}
SOUND = "<p>Nothing is wrong here.</p><img alt='a dot' src='data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7'>"


class Browser:
    """A headless Chromium behind its driver."""

    def __init__(self):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self.driver = subprocess.Popen(["chromedriver", f"--port={port}"], stdout=subprocess.DEVNULL)
        self.address = f"http://127.0.0.1:{port}"
        arguments = [
            "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--hide-scrollbars",
            "--host-resolver-rules=MAP * ~NOTFOUND", "--proxy-server=direct://",
        ]
        wanted = {"browserName": "chrome", "goog:chromeOptions": {"args": arguments}, "goog:loggingPrefs": {"browser": "ALL"}}
        self.session = ""
        self.session = "/session/" + self.patiently({"capabilities": {"alwaysMatch": wanted}})["sessionId"]

    def patiently(self, body):
        for _ in range(100):
            try:
                return self.ask("POST", "/session", body)
            except ConnectionError:
                time.sleep(0.1)
        raise SystemExit("chromedriver does not answer")

    def ask(self, method, path, body=None):
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.address + self.session + path, data, method=method)
        request.add_header("Content-Type", "application/json")
        try:
            opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
            with opener.open(request, timeout=120) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as refused:
            raise SystemExit(f"{path}: {refused.read().decode()}") from None
        except urllib.error.URLError as away:
            raise ConnectionError(away.reason) from None

    def devtools(self, command, **parameters):
        return self.ask("POST", "/goog/cdp/execute", {"cmd": command, "params": parameters})

    def look(self, page, window):
        """What the page says of itself, and the console's lines, in a window of this size."""
        width, height = window
        self.devtools("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        self.ask("POST", "/url", {"url": page.resolve().as_uri()})
        return self.state()

    def state(self):
        """What the open page says of itself now, and the console's lines since last asked."""
        said = self.ask("POST", "/execute/sync", {"script": f"return (async () => {{{PROBE}}})()", "args": []})
        console = self.ask("POST", "/se/log", {"type": "browser"})
        said["console"] = [line["message"] for line in console if line["level"] in ("WARNING", "SEVERE")]
        return said

    def pictures(self, file, width, height):
        """Keeps what was seen from top to bottom, in pieces that a picture viewer can take."""
        for number, top in enumerate(range(0, height, PIECE)):
            clip = {"x": 0, "y": top, "width": width, "height": min(PIECE, height - top), "scale": 1}
            seen = self.devtools("Page.captureScreenshot", captureBeyondViewport=True, clip=clip)
            Path(f"{file}-{number:02}.png").write_bytes(base64.b64decode(seen["data"]))

    def close(self):
        try:
            self.ask("DELETE", "")
        finally:
            self.driver.terminate()
            self.driver.wait()


def faults(said, window):
    """What is wrong with a page, in words."""
    if said["inner"] != window[0]:
        yield f"the window is {said['inner']} wide, not {window[0]}"
    if said["scroll"] > said["inner"]:
        yield f"wider than the window: {said['scroll']} in {said['inner']}"
    for line in said["console"]:
        yield f"console: {line}"
    for alt in said["broken"]:
        yield f"a picture was not loaded: {alt[:60]}"
    for name in said["fetched"]:
        yield f"fetched from elsewhere: {name}"
    if said["nameless"]:
        yield f"{said['nameless']} pictures have no text in their place"


def prove(browser, folder):
    """Every fault has to be found on a page that has it, and none on a page that has none."""
    page = Path(folder) / "page.html"
    for window in WINDOWS.values():
        for fault, body in {**FAULTS, "": SOUND}.items():
            page.write_text(f"<!DOCTYPE html><html lang='en'><title>t</title><body>{body}</body></html>", encoding="utf-8")
            found = list(faults(browser.look(page, window), window))
            if any(fault in one for one in found) != bool(fault) or (found and not fault):
                raise SystemExit(f"a page with the fault `{fault}` was judged: {found}")
    print(f"{len(FAULTS)} pages with a fault refused, one without passed, at {len(WINDOWS)} widths")


def main(arguments):
    keep = None
    if arguments[:1] == ["--pictures"]:
        keep, arguments = Path(arguments[1]), arguments[2:]
        keep.mkdir(parents=True, exist_ok=True)
    if not arguments:
        raise SystemExit(__doc__)
    browser, wrong = Browser(), 0
    try:
        with tempfile.TemporaryDirectory() as folder:
            prove(browser, folder)
        for page in map(Path, arguments):
            if not page.is_file():
                raise SystemExit(f"{page} is no file")
            for name, window in WINDOWS.items():
                said = browser.look(page, window)
                found = list(faults(said, window))
                wrong += len(found)
                print(f"{page} at {window[0]}: {said['pictures']} pictures, {'; '.join(found) or 'sound'}")
                if keep:
                    browser.pictures(keep / f"{page.parent.name}-{name}", window[0], said["height"])
    finally:
        browser.close()
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main(sys.argv[1:])
