#!/usr/bin/env python3
"""Opens one page from the file system in headless Chromium and tells, as JSON, what happened: console messages, requests,
uncaught errors, first paint, the value of an expression, violations found by axe-core. Can save a picture and a PDF.

Needs Python 3.9 and Chromium, nothing else: it speaks the DevTools protocol over a pipe.

    drive.py PAGE [--width 1280] [--height 900] [--picture FILE.png] [--pdf FILE.pdf] [--axe axe.min.js] [--evaluate EXPRESSION] [--print]
             [--key KEY | --text TEXT | --tell EXPRESSION ...]

Keys, text and expressions happen in the order given, as from a keyboard (no click, no pointer); what the expressions tell comes back
in `told`. A key is Tab, Enter, Space, Backspace, ArrowDown ..., with Shift+ or Control+ before it where it is held.
"""
import argparse
import base64
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

CHROMIUM = ["chromium", "chromium-browser", "google-chrome"]


class Browser:
    """A browser of its own, with a profile that is thrown away."""

    def __init__(self, program, profile):
        to_browser, self.write_end = os.pipe()
        self.read_end, from_browser = os.pipe()

        def on_its_side():
            # The protocol: commands come in on descriptor 3, answers go out on 4.
            os.dup2(to_browser, 1003)
            os.dup2(from_browser, 1004)
            os.dup2(1003, 3)
            os.dup2(1004, 4)

        flags = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--no-first-run", "--remote-debugging-pipe",
                 "--disable-background-networking", "--disable-component-update", f"--user-data-dir={profile}", "about:blank"]
        self.process = subprocess.Popen([program, *flags], preexec_fn=on_its_side, close_fds=False,
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_browser)
        os.close(from_browser)
        self.number = 0
        self.rest = b""
        self.events = []
        self.session = None

    def read(self):
        parts, end = [], self.rest.find(b"\0")
        while end < 0:
            parts.append(self.rest)
            self.rest = os.read(self.read_end, 1 << 20)
            if not self.rest:
                raise SystemExit("drive.py: the browser ended before it answered")
            end = self.rest.find(b"\0")
        parts.append(self.rest[:end])
        self.rest = self.rest[end + 1:]
        return json.loads(b"".join(parts))

    def ask(self, method, **values):
        self.number += 1
        message = {"id": self.number, "method": method, "params": values}
        if self.session:
            message["sessionId"] = self.session
        text = json.dumps(message).encode() + b"\0"
        while text:
            text = text[os.write(self.write_end, text):]
        while True:
            answer = self.read()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise SystemExit(f"drive.py: {method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)

    def until(self, method):
        while not any(event.get("method") == method for event in self.events):
            self.events.append(self.read())

    def evaluate(self, expression):
        answer = self.ask("Runtime.evaluate", expression=expression, awaitPromise=True, returnByValue=True)
        if "exceptionDetails" in answer:
            raise SystemExit(f"drive.py: {answer['exceptionDetails']}")
        return answer["result"].get("value")


KEYS = {"Tab": 9, "Enter": 13, "Space": 32, "Backspace": 8, "Escape": 27, "Home": 36, "End": 35, "Delete": 46,
        "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40, "a": 65}
TYPED = {"Enter": "\r", "Space": " "}
HELD = {"Shift": 8, "Control": 2}


def press(browser, typed):
    """One key, down and up."""
    *held, key = typed.split("+")
    name = " " if key == "Space" else key
    values = {"key": name, "code": "KeyA" if key == "a" else key, "windowsVirtualKeyCode": KEYS[key], "modifiers": sum(HELD[one] for one in held)}
    if key in TYPED and not held:
        values["text"] = TYPED[key]
    if typed == "Control+a":
        values["commands"] = ["selectAll"]
    browser.ask("Input.dispatchKeyEvent", type="keyDown", **values)
    browser.ask("Input.dispatchKeyEvent", type="keyUp", **{**values, "text": ""})


def type_text(browser, text):
    for letter in text:
        browser.ask("Input.dispatchKeyEvent", type="keyDown", key=letter, text=letter)
        browser.ask("Input.dispatchKeyEvent", type="keyUp", key=letter)


class Step(argparse.Action):
    def __call__(self, parser, typed, value, option=None):
        typed.steps.append((option, value))


def messages(events, page):
    """Console messages, uncaught errors and requests for anything but the page itself and data in it."""
    console, requests = [], []
    for event in events:
        method, values = event.get("method"), event.get("params", {})
        if method == "Runtime.consoleAPICalled":
            console.append(" ".join(str(one.get("value", one.get("description"))) for one in values["args"]))
        elif method == "Runtime.exceptionThrown":
            console.append(json.dumps(values["exceptionDetails"])[:500])
        elif method == "Log.entryAdded":
            console.append(values["entry"]["text"])
        elif method == "Network.requestWillBeSent":
            url = values["request"]["url"]
            if url != page and not url.startswith("data:"):
                requests.append(url)
    return console, requests


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("page")
    parser.add_argument("--width", type=int, default=1280)
    parser.add_argument("--height", type=int, default=900)
    parser.add_argument("--picture")
    parser.add_argument("--pdf")
    parser.add_argument("--axe")
    parser.add_argument("--evaluate")
    parser.add_argument("--print", action="store_true", help="as on paper")
    for option in ["--key", "--text", "--tell"]:
        parser.add_argument(option, action=Step)
    parser.set_defaults(steps=[])
    typed = parser.parse_args()
    program = next(filter(None, map(shutil.which, CHROMIUM)), None)
    if not program:
        raise SystemExit("drive.py: no chromium on this machine")
    page = pathlib.Path(typed.page).resolve().as_uri()
    with tempfile.TemporaryDirectory(prefix="rootward-browser-", ignore_cleanup_errors=True) as profile:
        browser = Browser(program, profile)
        try:
            print(json.dumps(look(browser, page, typed)))
        finally:
            browser.process.kill()
            browser.process.wait()


def look(browser, page, typed):
    target = browser.ask("Target.createTarget", url="about:blank")["targetId"]
    browser.session = browser.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
    for part in ["Page", "Runtime", "Log", "Network"]:
        browser.ask(f"{part}.enable")
    browser.ask("Emulation.setDeviceMetricsOverride", width=typed.width, height=typed.height, deviceScaleFactor=1,
                mobile=typed.width < 600)
    if typed.print:
        browser.ask("Emulation.setEmulatedMedia", media="print")
    browser.events.clear()
    browser.ask("Page.navigate", url=page)
    browser.until("Page.loadEventFired")
    told = {"value": None, "told": [], "violations": [], "incomplete": []}
    two_frames = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 50))))"
    browser.evaluate(two_frames)
    told["first_paint_ms"] = browser.evaluate(
        "(performance.getEntriesByName('first-contentful-paint')[0] || {startTime: null}).startTime")
    for option, value in typed.steps:
        if option == "--key":
            press(browser, value)
        elif option == "--text":
            type_text(browser, value)
        else:
            told["told"].append(browser.evaluate(value))
    if typed.evaluate:
        told["value"] = browser.evaluate(typed.evaluate)
    if typed.axe:
        browser.evaluate(pathlib.Path(typed.axe).read_text() + ";0")
        rules = "{runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}"
        brief = "list => list.map(one => one.id + ': ' + one.nodes.map(node => node.target.join(' ') + ' ' + node.failureSummary).join(' | ').slice(0, 900))"
        found = browser.evaluate(f"axe.run(document, {rules}).then(r => ({{v: ({brief})(r.violations), i: ({brief})(r.incomplete)}}))")
        told["violations"], told["incomplete"] = found["v"], found["i"]
    if typed.picture:
        size = browser.ask("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": min(size["height"], 16000), "scale": 1}
        picture = browser.ask("Page.captureScreenshot", format="png", captureBeyondViewport=True, clip=clip)
        pathlib.Path(typed.picture).write_bytes(base64.b64decode(picture["data"]))
    if typed.pdf:
        pdf = browser.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=True)
        pathlib.Path(typed.pdf).write_bytes(base64.b64decode(pdf["data"]))
    told["console"], told["requests"] = messages(browser.events, page)
    return told


if __name__ == "__main__":
    sys.exit(main())
