# SPDX-License-Identifier: GPL-3.0-or-later
"""Controls a headless Chromium over its DevTools pipe (JSON messages, each ended by a NUL) with the standard library only."""
import base64
import json
import os
import select
import shutil
import subprocess
import tempfile
import time

LONGEST_S = 60


class Browser:
    def __init__(self):
        self.profile = tempfile.mkdtemp()
        to_browser, self.out = os.pipe()
        self.into, from_browser = os.pipe()
        program = shutil.which("chromium")
        if program is None:
            raise RuntimeError("chromium is not installed (Debian: chromium)")
        # The shell connects the two pipes to the file descriptors that Chromium uses.
        command = (f'exec "$0" --headless --no-sandbox --disable-gpu --hide-scrollbars --no-first-run --remote-debugging-pipe '
                   f'--disable-dev-shm-usage --user-data-dir="$1" about:blank 3<&{to_browser} 4>&{from_browser}')
        self.process = subprocess.Popen(["bash", "-c", command, program, self.profile], pass_fds=(to_browser, from_browser),
                                        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.held, self.count, self.events = b"", 0, []
        target = self.call("Target.createTarget", {"url": "about:blank"})["targetId"]
        self.session = self.call("Target.attachToTarget", {"targetId": target, "flatten": True})["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.on_page(f"{domain}.enable")

    def close(self):
        self.process.terminate()
        self.process.wait()
        os.close(self.out)
        os.close(self.into)
        shutil.rmtree(self.profile, ignore_errors=True)

    def message(self, until):
        while b"\0" not in self.held:
            if not select.select([self.into], [], [], max(0, until - time.monotonic()))[0]:
                raise TimeoutError("the browser sent no message in time")
            block = os.read(self.into, 1 << 20)
            if not block:
                raise RuntimeError("the browser has ended")
            self.held += block
        one, self.held = self.held.split(b"\0", 1)
        return json.loads(one)

    def call(self, method, parameters=None, session=None):
        self.count += 1
        told = {"id": self.count, "method": method, "params": parameters or {}}
        if session:
            told["sessionId"] = session
        os.write(self.out, json.dumps(told).encode() + b"\0")
        until = time.monotonic() + LONGEST_S
        while True:
            message = self.message(until)
            if message.get("id") == self.count:
                if "error" in message:
                    raise RuntimeError(f"{method}: {message['error']}")
                return message["result"]
            self.events.append(message)

    def on_page(self, method, parameters=None):
        return self.call(method, parameters, self.session)

    def load(self, path, width=1280, scheme="light"):
        """Shows the file. From then on, `events` holds the events of this load only."""
        self.events.clear()
        self.on_page("Emulation.setDeviceMetricsOverride", {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600})
        self.on_page("Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]})
        self.on_page("Page.navigate", {"url": path.as_uri()})
        until = time.monotonic() + LONGEST_S
        while not any(e.get("method") == "Page.loadEventFired" for e in self.events):
            self.events.append(self.message(until))

    def value(self, expression):
        """The value of the expression, evaluated by the DevTools because the page's own policy forbids scripts."""
        result = self.on_page("Runtime.evaluate", {"expression": expression, "returnByValue": True})
        if "exceptionDetails" in result:
            raise RuntimeError(json.dumps(result["exceptionDetails"]))
        return result["result"].get("value")

    def complaints(self):
        """All messages that the console would show."""
        told = ("Log.entryAdded", "Runtime.exceptionThrown", "Runtime.consoleAPICalled")
        return [e for e in self.events if e.get("method") in told]

    def requests(self):
        return [e["params"]["request"]["url"] for e in self.events if e.get("method") == "Network.requestWillBeSent"]

    def screenshot(self, path):
        shot = self.on_page("Page.captureScreenshot", {"format": "png", "captureBeyondViewport": True})
        path.write_bytes(base64.b64decode(shot["data"]))

    def pdf(self, path):
        printed = self.on_page("Page.printToPDF", {"preferCSSPageSize": True, "printBackground": True})
        path.write_bytes(base64.b64decode(printed["data"]))
