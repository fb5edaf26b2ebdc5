"""Watches the player of a build-log page in headless Chromium, and compares what it shows with the run's trace.

    python3 tests/reference/player.py MARBLEWRIGHT [MACHINE.yaml ...]

Makes the page of each machine (the built-in one if none is given) and asks `why --events` for every event of the run that
the page carries. At a phone's width and at a desk's, at twenty instants drawn at random, each marble has to be where the
last event before puts it, waiting where it was seen to wait; the page's own words have to count the same. Then: the
controls by keyboard, the close look beside it, that it moves by itself and stops, that a marble that is followed is named, the console silent,
nothing fetched, and standing still where the reader asks for less motion.
"""

import json
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from browser import WINDOWS, Browser, faults

INSTANTS = 20
KEYS = {"space": " ", "right": "\ue014", "left": "\ue012", "end": "\ue010", "home": "\ue011", "page up": "\ue00e", "tab": "\ue004"}

SHOW = """
    const [time] = arguments, root = document.querySelector(".player");
    const slider = root.querySelector(".time");
    slider.value = time;
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    const rows = [...root.querySelectorAll(".where tbody tr")].map((row) => [...row.cells].map((cell) => cell.textContent));
    const { marbles, hand, lost } = root.shown;
    return { clock: root.querySelector(".clock").textContent, hand, lost, rows,
        marbles: marbles.map(({ marble, element, waits }) => [marble, element, waits]),
        dots: root.dots.map(({ of, at }) => [of.marble, ...at]),
        width: root.querySelector("canvas").width, end: Number(slider.max) };
"""



def made(program, machine, folder):
    """The page's path and the run's events."""
    file = [machine] if machine else []
    how = ["--hours", "0.5", "--seed", "7", "--runs", "4"]
    command = [program, "log", *file, *how, "--no-assumptions", "--quiet", "--out", folder]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    page = Path(folder) / "log.html"
    text = page.read_text(encoding="utf-8")
    if ' id="watch" ' not in text:
        raise SystemExit(f"{machine}: no run to watch")
    run = text.split('aria-label="Run ')[1].split(" ")[0]
    asked = [program, "why", *file, *how[:4], "--run", run, "--events"]
    said = subprocess.run(asked, check=True, capture_output=True, text=True).stdout
    return page, [json.loads(line) for line in said.splitlines()]


def traced(events, count, before_s):
    """Where each marble is after all that happened before an instant: its element's name, and whether it waits; `None` in
    the hand, `lost` over the side."""
    places = [None] * count
    for event in events:
        if event["time_s"] >= before_s:
            break
        marble, what = event.get("marble"), event["what"]
        if what == "moved":
            places[marble] = (event["to"], False)
        elif what == "spilled":
            places[marble] = "lost"
        elif what == "waits":
            places[marble] = (places[marble][0], True)
    return places


class Player:
    """The player of a page that is open in a browser."""

    def __init__(self, browser):
        self.browser = browser

    def run(self, script, *arguments):
        return self.browser.ask("POST", "/execute/sync", {"script": script, "args": list(arguments)})

    def shown(self, time_ms):
        return self.run(SHOW, time_ms)

    def text(self, part):
        return self.run("return document.querySelector('.player .' + arguments[0]).textContent", part)

    def time(self):
        return int(self.run("return document.querySelector('.player .time').value"))

    def keys(self, *pressed):
        """Presses keys one after the other on whatever has the focus."""
        actions = []
        for key in pressed:
            actions += [{"type": "keyDown", "value": key}, {"type": "keyUp", "value": key}]
        self.browser.ask("POST", "/actions", {"actions": [{"type": "key", "id": "keys", "actions": actions}]})

    def focus(self, part):
        self.run("document.querySelector('.player .' + arguments[0]).focus()", part)


def at_random_instants(player, events, seed):
    """Every marble where the trace has it, in what is drawn and in words."""
    first = player.shown(0)
    count = len(first["marbles"]) + first["hand"] + first["lost"]
    names = [row[0] for row in first["rows"]]
    drawn = random.Random(seed)
    for _ in range(INSTANTS):
        time_ms = drawn.randrange(first["end"] + 1)
        shown = player.shown(time_ms)
        places = traced(events, count, (time_ms + 1) / 1000 - 1e-10)
        found = [None] * count
        for marble, element, waits in shown["marbles"]:
            found[marble] = (names[element], waits)
        inside = [place if place != "lost" else None for place in places]
        assert found == inside, f"at {time_ms} ms: {[pair for pair in zip(found, inside) if pair[0] != pair[1]][:3]}"
        assert shown["lost"] == places.count("lost") and shown["hand"] == places.count(None), f"at {time_ms} ms"
        for name, here, waiting in shown["rows"]:
            there = [place for place in inside if place and place[0] == name]
            assert (int(here), int(waiting)) == (len(there), sum(waits for _, waits in there)), f"{name} at {time_ms} ms"
        assert len(shown["dots"]) == len(shown["marbles"])
        assert all(0 <= x < 2000 and 0 <= y < 3000 for _, x, y in shown["dots"]), f"at {time_ms} ms"
    return first["end"], count


def by_keyboard(player, end):
    """Everything can be reached and done without a mouse."""
    player.focus("play")
    reached = []
    for _ in range(5):
        player.keys(KEYS["tab"])
        reached.append(player.run("return document.activeElement.className || document.activeElement.tagName"))
    assert reached[:4] == ["back", "on", "speed", "follow"], reached
    player.focus("time")
    player.shown(60_000)
    player.keys(KEYS["right"], KEYS["right"], KEYS["left"])
    assert player.time() == 61_000, player.time()
    player.keys(KEYS["page up"])
    assert player.time() == 121_000, player.time()
    player.keys(KEYS["end"])
    assert player.time() == end, player.time()
    player.keys(KEYS["home"])
    assert player.time() == 0, player.time()
    assert player.text("said").startswith("At 0:00.0:"), player.text("said")
    player.focus("play")
    player.keys(KEYS["space"])
    time.sleep(1.0)
    moved = player.time()
    player.keys(KEYS["space"])
    stood = player.time()
    time.sleep(0.4)
    assert 1_000 < moved <= stood == player.time(), f"at five times: {moved}, {stood}, {player.time()}"
    assert player.text("play") == "Play"
    player.focus("follow")
    player.keys("m", "a", "r", "b", "l", "e", " ", "3")
    assert player.text("followed").startswith("marble 3: "), player.text("followed")
    if player.run("return document.querySelectorAll('.player .incidents button').length"):
        player.run("document.querySelector('.player .incidents button').focus()")
        player.keys(KEYS["space"])
        said = player.run("return document.querySelector('.player .incidents button').textContent")
        wanted = sum(int(part) * scale for part, scale in zip(reversed(said.split(" ")[0].split(":")), (1, 60, 3600)))
        assert abs(player.time() - max(wanted - 5, 0) * 1000) < 1000, f"{player.time()} ms for {said}"


def from_near(player, program, machine):
    """The close look beside the run: the deeds that `film --close-up` sees, drawn as kept, played by keyboard."""
    if not player.run("return Boolean(document.querySelector('.player .near'))"):
        return "no wheel to look at"
    wheel = player.run("return document.querySelector('.near .lead b').textContent")
    asked = [program, "film", *([machine] if machine else []), "--close-up", wheel, "--no-files", "--json"]
    seen = json.loads(subprocess.run(asked, check=True, capture_output=True, text=True).stdout)["scenes"]
    offered = player.run("return [...document.querySelectorAll('.near .deed option')].map((option) => option.textContent)")
    words = {"takes": "a pocket takes a marble", "misses": "a pocket misses a marble", "stalls": "a marble wedges and stalls the drive"}
    assert offered == [words[deed] for deed in seen], f"{offered} for {seen}"
    for n, says in enumerate(offered):
        shown = player.run("""
            const [n] = arguments, near = document.querySelector(".near"), deed = near.querySelector(".deed");
            deed.value = n;
            deed.dispatchEvent(new Event("change", { bubbles: true }));
            const kept = JSON.parse(document.getElementById("near").textContent).scenes[n].stills;
            const slider = near.querySelector(".moment");
            return [near.shown.deed, JSON.stringify(near.shown.still) === JSON.stringify(kept[slider.value]), kept.length];
        """, n)
        assert shown[0] == says and shown[1] and shown[2] > 10, shown
    before = player.time()
    player.focus("moment")
    player.keys(KEYS["home"])
    player.focus("turn")
    player.keys(KEYS["space"])
    time.sleep(1.0)
    player.keys(KEYS["space"])
    moment = "return Number(document.querySelector('.near .moment').value)"
    moved = player.run(moment)
    time.sleep(0.3)
    assert 0 < moved == player.run(moment), f"{moved} stills in a second"
    assert player.time() == before, "the run beside it moved"
    return f"{wheel} from near: {', '.join(seen)}"


def calm(browser, page):
    """Where less motion is asked for it steps a second at a time, and nothing is half-way along an arrow."""
    browser.devtools("Emulation.setEmulatedMedia", features=[{"name": "prefers-reduced-motion", "value": "reduce"}])
    browser.look(page, WINDOWS["desk"])
    player = Player(browser)
    player.run("""
        const root = document.querySelector('.player');
        root.steps = 0;
        new MutationObserver(() => root.steps++).observe(root.querySelector('.clock'), { childList: true });
        root.querySelector('.play').click();
    """)
    time.sleep(2.5)
    steps = player.run("return document.querySelector('.player').steps")
    assert 1 <= steps <= 3, f"{steps} steps in two and a half seconds"
    browser.devtools("Emulation.setEmulatedMedia", features=[])


def watch(browser, program, machine):
    with tempfile.TemporaryDirectory() as folder:
        page, events = made(program, machine, folder)
        size = page.stat().st_size
        for name, window in WINDOWS.items():
            wrong = list(faults(browser.look(page, window), window))
            assert not wrong, wrong
            player = Player(browser)
            end, count = at_random_instants(player, events, name)
            by_keyboard(player, end)
            near = from_near(player, program, machine)
            wrong = list(faults(browser.state(), window))
            assert not wrong, wrong
            print(f"{machine or 'built-in'} at {window[0]}: {count} marbles at {INSTANTS} instants as traced, {near}, controls by keyboard, silent")
        calm(browser, page)
        print(f"{machine or 'built-in'}: {size} bytes, calm where that is asked for")


def prove(browser, program):
    """A marble that is somewhere else for the last two thirds of the run has to be noticed."""
    with tempfile.TemporaryDirectory() as folder:
        page, events = made(program, None, folder)
        browser.look(page, WINDOWS["desk"])
        moved = [event for event in events if event["what"] == "moved"]
        for event in moved[len(moved) // 3:]:
            if event["marble"] == moved[0]["marble"]:
                event["to"] = "nowhere"
        try:
            at_random_instants(Player(browser), events, 0)
        except AssertionError:
            return
        raise SystemExit("a marble in the wrong place was not noticed")


def main(arguments):
    if not arguments:
        raise SystemExit(__doc__)
    program, machines = Path(arguments[0]).resolve(), arguments[1:] or [None]
    browser = Browser()
    try:
        prove(browser, program)
        for machine in machines:
            watch(browser, program, machine)
    finally:
        browser.close()


if __name__ == "__main__":
    main(sys.argv[1:])
