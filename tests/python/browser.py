"""A headless Chromium, driven over a pipe with the Chrome DevTools Protocol.

Only what the tests of the page need: open an address, run a script in it, press keys, look at what was asked of the network.
"""

import base64
import json
import os
import shutil
import subprocess
import tempfile
import threading
import time

PROGRAMS = ["chromium", "chromium-browser", "google-chrome"]
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--remote-debugging-pipe",
]
KEYS = {
    "ArrowRight": 39,
    "ArrowLeft": 37,
    "Home": 36,
    "End": 35,
    "Escape": 27,
    "Tab": 9,
    "Enter": 13,
}


def program():
    """The path of a Chromium, or None."""
    return next((path for path in map(shutil.which, PROGRAMS) if path), None)


class Browser:
    """A browser with one page."""

    def __init__(self):
        self.folder = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        # The browser reads commands from its descriptor 3 and answers on 4.
        (theirs_in, self.to), (self.out, theirs_out) = os.pipe(), os.pipe()

        def place():
            # Away from 3 and 4 first, so that neither is overwritten by the other.
            first, second = os.dup(theirs_in), os.dup(theirs_out)
            first, second = os.dup2(first, 60), os.dup2(second, 61)
            os.dup2(first, 3)
            os.dup2(second, 4)

        self.process = subprocess.Popen(
            [program(), *FLAGS, f"--user-data-dir={self.folder.name}", "about:blank"],
            preexec_fn=place,
            close_fds=False,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(theirs_in)
        os.close(theirs_out)
        self.number = 0
        self.answers = {}
        self.events = []
        self.changed = threading.Condition()
        threading.Thread(target=self._read, daemon=True).start()
        self.session = None
        target = next(
            one for one in self.call("Target.getTargets")["targetInfos"] if one["type"] == "page"
        )
        attached = self.call("Target.attachToTarget", targetId=target["targetId"], flatten=True)
        self.session = attached["sessionId"]
        for domain in ["Page", "Runtime", "Network", "Log"]:
            self.call(f"{domain}.enable")

    def _read(self):
        rest = b""
        while True:
            try:
                chunk = os.read(self.out, 1 << 16)
            except OSError:
                return
            if not chunk:
                return
            *messages, rest = (rest + chunk).split(b"\0")
            with self.changed:
                for message in map(json.loads, messages):
                    if "id" in message:
                        self.answers[message["id"]] = message
                    else:
                        self.events.append(message)
                self.changed.notify_all()

    def call(self, method, **params):
        """Calls a method of the protocol and waits for its answer."""
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if self.session:
            message["sessionId"] = self.session
        os.write(self.to, json.dumps(message).encode() + b"\0")
        with self.changed:
            if not self.changed.wait_for(lambda: message["id"] in self.answers, timeout=60):
                raise TimeoutError(f"no answer to {method}")
            answer = self.answers.pop(message["id"])
        if "error" in answer:
            raise RuntimeError(f"{method}: {answer['error']}")
        return answer["result"]

    def open(self, address):
        """Opens an address and waits until it is loaded."""
        with self.changed:
            self.events.clear()
        self.call("Page.navigate", url=address)
        with self.changed:
            loaded = lambda: any(one["method"] == "Page.loadEventFired" for one in self.events)
            if not self.changed.wait_for(loaded, timeout=60):
                raise TimeoutError(f"{address} does not load")

    def run(self, script):
        """The value of an expression in the page."""
        got = self.call("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in got:
            raise RuntimeError(f"{script}: {got['exceptionDetails']}")
        return got["result"].get("value")

    def until(self, script, seconds=20):
        """Waits until an expression is true in the page; its value."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            value = self.run(script)
            if value:
                return value
            time.sleep(0.03)
        raise TimeoutError(f"never true: {script}; the page says: {self.run('document.body.innerText')[:2000]}")

    def press(self, key, shift=False):
        """Presses a key."""
        common = {
            "key": key,
            "code": key,
            "windowsVirtualKeyCode": KEYS[key],
            "modifiers": 8 if shift else 0,
        }
        text = {"text": "\r"} if key == "Enter" else {}
        self.call("Input.dispatchKeyEvent", type="keyDown", **common, **text)
        self.call("Input.dispatchKeyEvent", type="keyUp", **common)

    def size(self, width, height):
        """Sets the size of the window."""
        self.call(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False
        )

    def media(self, media="", scheme="light"):
        """Sets what the reader prefers, or print."""
        self.call(
            "Emulation.setEmulatedMedia",
            media=media,
            features=[{"name": "prefers-color-scheme", "value": scheme}],
        )

    def picture(self, path):
        """Takes a picture of the window."""
        data = self.call("Page.captureScreenshot", format="png")["data"]
        with open(path, "wb") as file:
            file.write(base64.b64decode(data))

    def printed(self):
        """The page as PDF."""
        return base64.b64decode(self.call("Page.printToPDF", printBackground=False)["data"])

    def asked(self):
        """Every address that the page has asked for since it was opened."""
        with self.changed:
            return [
                one["params"]["request"]["url"]
                for one in self.events
                if one["method"] == "Network.requestWillBeSent"
            ]

    def complaints(self):
        """Errors of scripts, and whatever the browser logged as an error."""
        with self.changed:
            thrown = [one["params"] for one in self.events if one["method"] == "Runtime.exceptionThrown"]
            logged = [
                one["params"]["entry"]
                for one in self.events
                if one["method"] == "Log.entryAdded" and one["params"]["entry"]["level"] == "error"
            ]
        return thrown + logged

    def close(self):
        """Ends it."""
        self.process.kill()
        self.process.wait()
        os.close(self.to)
        self.folder.cleanup()
