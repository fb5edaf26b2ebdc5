// One run of the machine, to watch: draws where every marble is at an instant, from the stays that the page carries.
// Times are whole milliseconds. What is shown at t is all that had happened before t + 1 ms.
"use strict";
(() => {
  const root = document.querySelector(".player");
  const run = JSON.parse(document.getElementById("run").textContent);
  const part = (name) => root.querySelector("." + name);
  const canvas = part("stage");
  const pen = canvas.getContext("2d");
  const [play, slider, speed, follow] = ["play", "time", "speed", "follow"].map(part);
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const ON_ARROW = 300; // ms a marble is seen on an arrow, which takes it no time
  const MOVES_UP = 200; // ms a file is seen moving up one place
  const TURN = 2 * Math.PI;
  const MARBLE = 4.5;
  const BELT = 16; // from the middle of a belt to either side
  const lifts = (of) => of.turn !== undefined;
  const colour = (name) => getComputedStyle(root).getPropertyValue("--film-" + name).trim();
  const colours = ["0", "1", "2", "3", "4", "5"].map((n) => colour("marble-" + n));
  let now = 0;
  let playing = false;

  // The stays of each marble: [element, from, enter, queued, leave, lost]; what never happens is Infinity.
  function unpack(text) {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    let at = 0;
    const number = () => {
      let value = 0;
      for (let scale = 1; ; scale *= 128) {
        const byte = bytes[at++];
        value += (byte & 127) * scale;
        if (byte < 128) return value;
      }
    };
    return Array.from({ length: run.marbles }, () => {
      const stays = [];
      let [count, element, from, enter] = [number(), run.start, -1, 0];
      if (count > 0) enter = number();
      for (; count > 0; count--) {
        const head = number();
        const kind = head % 4; // 0 went straight on, 1 waited and went on, 2 on its way at the end, 3 waits at the end
        const first = (head - kind) / 4;
        const stay = { element, from, enter, queued: Infinity, leave: Infinity, lost: false };
        stays.push(stay);
        if (kind % 2 === 1) stay.queued = enter + first;
        if (kind === 0) stay.leave = enter + first;
        if (kind === 1) stay.leave = stay.queued + number();
        if (kind >= 2) continue;
        const to = run.elements[element].ways[number()];
        stay.lost = to === undefined;
        [from, element, enter] = [element, to, stay.leave];
      }
      return stays;
    });
  }
  const marbles = unpack(run.stays);

  // The last stay that began by `time`, by halving; -1 where the marble is still in the hand.
  function current(stays, time) {
    let [low, high] = [0, stays.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (stays[middle].enter <= time) low = middle + 1;
      else high = middle;
    }
    return low - 1;
  }

  // Where every marble is at `time`: in which element, and whether it waits there.
  function state(time) {
    const found = { time, marbles: [], hand: 0, lost: 0 };
    marbles.forEach((stays, marble) => {
      const n = current(stays, time);
      const stay = stays[n];
      if (n < 0) found.hand++;
      else if (stay.lost && stay.leave <= time) found.lost++;
      else found.marbles.push({ marble, n, stay, element: stay.element, waits: stay.queued <= time });
    });
    return found;
  }

  // Who waits in each element, the head first, and when the last one left that had waited.
  function queues(found) {
    const all = run.elements.map(() => ({ marbles: [], lastLeft: -Infinity }));
    for (const of of found.marbles) {
      if (of.waits) all[of.element].marbles.push(of);
      for (let n = of.n; n >= 0 && n > of.n - 4; n--) {
        const stay = marbles[of.marble][n];
        const queue = all[stay.element];
        if (stay.queued < Infinity && stay.leave <= found.time) queue.lastLeft = Math.max(queue.lastLeft, stay.leave);
      }
    }
    for (const queue of all) {
      queue.marbles.sort((a, b) => a.stay.queued - b.stay.queued || a.stay.enter - b.stay.enter || a.marble - b.marble);
    }
    return all;
  }

  // What the clock of a drive shows, which stands while the drive does.
  function driveClock(drive, time) {
    const stood = run.stands.filter((stand) => stand[0] === drive && stand[1] < time);
    return stood.reduce((shown, [, from, until]) => shown - (Math.min(time, until ?? Infinity) - from), time);
  }

  const layout = () => (canvas.clientWidth < 560 ? run.narrow : run.wide);
  const lengthOf = (line) => line.slice(1).reduce((sum, p, k) => sum + Math.hypot(p[0] - line[k][0], p[1] - line[k][1]), 0);

  function along(line, far) {
    for (let k = 1; k < line.length; k++) {
      const [[x0, y0], [x1, y1]] = [line[k - 1], line[k]];
      const piece = Math.hypot(x1 - x0, y1 - y0);
      if (far < piece) return [x0 + ((x1 - x0) * far) / piece, y0 + ((y1 - y0) * far) / piece];
      far -= piece;
    }
    return line[line.length - 1];
  }

  // A number from 0 to 1 for each marble, well spread.
  const golden = (marble) => (marble * 0.6180339887498949) % 1;

  // The inside of an element's box: where marbles come in, go out, travel and wait.
  function inside(n) {
    const of = run.elements[n];
    const [left, top, right, bottom] = layout().boxes[n];
    const middle = (left + right) / 2;
    const mouth = [middle, bottom - 8];
    const entry = [middle, top + 24];
    // One side of a belt from the bottom to the top, so far beside the middle; a lift with one way has it in the middle.
    const side = (beside) => [
      [middle, bottom - 9],
      [middle + beside, bottom - 16],
      [middle + beside, top + 35],
      [middle, top + 28],
    ];
    const up = (part, beside) => along(side(beside), Math.min(part, 1) * lengthOf(side(beside)));
    const rim = (turns) => {
      const turned = ((turns % 1) + 1) % 1;
      const climbs = of.lift > 0 && turned <= of.lift + 1e-9;
      if (of.shape === "belt") return climbs ? up(turned / of.lift, -BELT) : up((1 - turned) / Math.max(1 - of.lift, 1e-9), BELT);
      if (of.shape === "climb") return up(climbs ? turned / of.lift : 0, 0);
      if (of.shape === "rocker") return up(climbs ? turned / of.lift : Math.max(2 - turned / of.lift, 0), 0);
      return [middle - 28 * Math.sin(turns * TURN), top + 58 + 28 * Math.cos(turns * TURN)];
    };
    const line = [[left + 13, top + 31], [right - 13, bottom - 13]];
    const apart = (waiting) => {
      const places = Math.min(Math.max(of.places ?? 400, waiting), waiting + 30);
      return Math.min(9.5, lengthOf(line) / Math.max(places, 1));
    };
    // In rows above the mouth, two more in each than in the one below.
    const heaped = (before, all) => {
      const rowOf = (k) => Math.ceil((Math.sqrt(4 * k + 5) - 1) / 2) - 1;
      const rows = rowOf(Math.max(all - 1, 0));
      const row = rowOf(before);
      const [place, width] = [before - row * (row + 1), 2 * (row + 1)];
      const step = Math.min(9.5, (bottom - top - 44) / Math.max(rows, 1));
      const wide = Math.min(9.5, (right - left - 30) / width);
      return [mouth[0] + (place - (width - 1) / 2) * wide, mouth[1] - row * step];
    };
    if (lifts(of)) {
      return { rim, sides: of.shape === "belt" ? [side(-BELT), side(BELT)] : [side(0)], line, mouth, entry: rim(0), exit: rim(of.lift), waiting: heaped, travelling: (p) => rim(p * of.lift) };
    }
    if (of.shape === "file") {
      const waiting = (before, all) => along(line, Math.max(lengthOf(line) - before * apart(all), 0));
      const travelling = (p, ahead) => {
        const tail = Math.max(lengthOf(line) - ahead * apart(ahead), 0);
        return along(line, Math.min(p * lengthOf(line), tail));
      };
      return { rim, line, mouth, entry: line[0], exit: line[1], waiting, travelling };
    }
    const waiting = (before, all) => heaped(Math.round(before), all);
    const swirling = (p, ahead, marble) => {
      const angle = (p * 3 + golden(marble)) * TURN;
      const out = 1 - 0.85 * p;
      return [middle + 50 * out * Math.cos(angle), top + 54 + 20 * out * Math.sin(angle)];
    };
    const rolling = (p, ahead, marble) => {
      const way = [entry, [left + 16 + golden(marble) * (right - left - 32), top + 36], mouth];
      return along(way, p * lengthOf(way));
    };
    return { rim, line, mouth, entry, exit: mouth, waiting, travelling: of.shape === "swirl" ? swirling : rolling };
  }

  function position(of, queue, time) {
    const stay = of.stay;
    const element = run.elements[of.element];
    const box = inside(of.element);
    const here = time - stay.enter;
    const lasts = stay.leave - stay.enter;
    const onArrow = calm.matches ? 0 : Math.min(ON_ARROW, stay.queued < Infinity ? lasts : lasts / 2);
    if (here < onArrow) {
      const wire = layout().wires.find((wire) => wire.from === stay.from && wire.to === of.element);
      const way = [...(stay.from < 0 ? [] : [inside(stay.from).exit]), ...(wire ? wire.points : []), box.entry];
      return along(way, (lengthOf(way) * here) / onArrow);
    }
    if (lifts(element)) {
      return box.rim((driveClock(element.drive, time) - driveClock(element.drive, stay.enter)) / element.turn);
    }
    const before = queue.marbles.indexOf(of);
    if (before >= 0) {
      const moving = calm.matches ? 0 : Math.max(1 - (time - queue.lastLeft) / MOVES_UP, 0);
      return box.waiting(before + moving, queue.marbles.length + 1);
    }
    const reached = Math.min(stay.queued, stay.leave);
    const arrives = reached < Infinity ? reached - stay.enter : element.travel;
    const p = Math.min((here - onArrow) / Math.max(arrives - onArrow, 1), 1);
    return box.travelling(p, queue.marbles.length, of.marble);
  }

  function disc(x, y, radius, fill, ring, width) {
    pen.beginPath();
    pen.arc(x, y, radius, 0, TURN);
    pen.fillStyle = fill;
    pen.fill();
    if (!ring) return;
    pen.strokeStyle = ring;
    pen.lineWidth = width;
    pen.stroke();
  }

  function stroke(points, width, style) {
    pen.beginPath();
    points.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.strokeStyle = style;
    pen.lineWidth = width;
    pen.lineCap = pen.lineJoin = "round";
    pen.stroke();
  }

  function arrow(points) {
    const [[x0, y0], [x1, y1]] = points.slice(-2);
    const turn = Math.atan2(y1 - y0, x1 - x0);
    const back = (far, aside) => [
      x1 - far * Math.cos(turn) - aside * Math.sin(turn),
      y1 - far * Math.sin(turn) + aside * Math.cos(turn),
    ];
    stroke([...points.slice(0, -1), back(8, 0)], 3, colour("flow"));
    pen.beginPath();
    [[x1, y1], back(10, 6), back(10, -6)].forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.fillStyle = colour("flow");
    pen.fill();
  }

  function elementBox(n, scale) {
    const of = run.elements[n];
    const [left, top, right, bottom] = layout().boxes[n];
    const box = inside(n);
    pen.fillStyle = colour("paper");
    pen.fillRect(left, top, right - left, bottom - top);
    pen.strokeStyle = colour("axis");
    pen.lineWidth = 1.2;
    pen.strokeRect(left, top, right - left, bottom - top);
    const pale = colour("pale");
    if (of.shape === "wheel") {
      disc((left + right) / 2, top + 58, 28 + MARBLE + 2.5, pale);
    } else if (lifts(of)) {
      box.sides.forEach((line) => stroke(line, 2 * MARBLE + 2, pale));
    } else if (of.shape === "file") {
      stroke(box.line.map(([x, y]) => [x, y + MARBLE + 2]), 3, colour("axis"));
    } else if (of.shape === "swirl") {
      pen.beginPath();
      pen.ellipse((left + right) / 2, top + 54, 58, 27, 0, 0, TURN);
      pen.fillStyle = pale;
      pen.fill();
    } else {
      const [x, y] = box.mouth;
      stroke([[left + 9, top + 36], [x - 9, y + 6]], 3, colour("axis"));
      stroke([[right - 9, top + 36], [x + 9, y + 6]], 3, colour("axis"));
    }
    pen.fillStyle = colour("ink");
    pen.font = `600 ${Math.max(12.5, 10.5 / scale)}px system-ui, sans-serif`;
    pen.fillText(of.name, left + 8, top + 17, right - left - 16);
    if (layout().wires.length) return;
    // No room for arrows: the names of what it leads to.
    const ways = of.ways.map((to) => run.elements[to].name);
    pen.fillStyle = colour("flow-text");
    pen.font = "11px system-ui, sans-serif";
    pen.fillText(ways.length ? `to ${ways.join(", ")}` : "ends", left + 8, bottom + 13, right - left - 8);
  }

  function pockets(time) {
    run.elements.forEach((of, n) => {
      if (!lifts(of)) return;
      const turned = (driveClock(of.drive, time) - of.first) / of.turn;
      for (let k = 0; k < of.pockets; k++) {
        const [x, y] = inside(n).rim(turned - k / of.pockets);
        disc(x, y, MARBLE + 1, colour("paper"), colour("axis"), 1);
      }
    });
  }

  function draw() {
    const { width, height } = layout();
    const scale = canvas.clientWidth / width;
    const dense = window.devicePixelRatio || 1;
    canvas.style.height = `${height * scale}px`;
    canvas.width = Math.round(canvas.clientWidth * dense);
    canvas.height = Math.round(height * scale * dense);
    pen.setTransform(scale * dense, 0, 0, scale * dense, 0, 0);
    pen.fillStyle = colour("paper");
    pen.fillRect(0, 0, width, height);
    layout().wires.forEach((wire) => arrow(wire.points));
    run.elements.forEach((_, n) => elementBox(n, scale));
    const time = Math.min(now, run.end);
    pockets(time);
    const found = state(time);
    const waiting = queues(found);
    const followed = follow.value === "" ? -1 : Number(follow.value);
    const dots = found.marbles.map((of) => ({ of, at: position(of, waiting[of.element], time) }));
    dots.sort((a, b) => (a.of.marble === followed) - (b.of.marble === followed));
    for (const { of, at } of dots) {
      const chosen = of.marble === followed;
      const fill = chosen ? colour("limit") : colours[of.marble % colours.length];
      pen.globalAlpha = followed < 0 || chosen ? 1 : 0.55;
      disc(at[0], at[1], chosen ? MARBLE + 2 : MARBLE, fill, colour("ink"), chosen ? 2 : 0.8);
    }
    pen.globalAlpha = 1;
    root.dots = dots;
    root.shown = found;
  }

  const two = (n) => String(n).padStart(2, "0");
  function clock(ms) {
    const tenths = Math.floor(ms / 100);
    const [hours, minutes] = [Math.floor(tenths / 36000), Math.floor(tenths / 600) % 60];
    const seconds = `${two(Math.floor(tenths / 10) % 60)}.${tenths % 10}`;
    return hours ? `${hours}:${two(minutes)}:${seconds}` : `${minutes}:${seconds}`;
  }

  // Where the marbles are, in words.
  function words() {
    const { marbles: all, hand, lost } = root.shown;
    run.elements.forEach((of, n) => {
      const here = all.filter((marble) => marble.element === n);
      const row = part("where").rows[n + 1];
      row.cells[1].textContent = here.length;
      row.cells[2].textContent = here.filter((marble) => marble.waits).length;
    });
    const away = [hand ? `${hand} in the hand` : "", lost ? `${lost} over the side` : ""].filter(Boolean).join(", ");
    const last = run.incidents.filter((incident) => incident.ms <= now).pop();
    const fresh = last && now - last.ms < 15000 ? last.text : "";
    part("away").textContent = [away, fresh].filter(Boolean).join("; ");
    if (follow.value !== "") {
      const marble = Number(follow.value);
      const of = all.find((other) => other.marble === marble);
      const stay = of && of.stay;
      const where = of ? `in ${run.elements[of.element].name} since ${clock(stay.enter)}${of.waits ? ", waits" : ""}` : "";
      const gone = marbles[marble].length && marbles[marble][0].enter <= now ? "over the side" : "in the hand";
      part("followed").textContent = `marble ${marble}: ${where || gone}`;
    } else {
      part("followed").textContent = "";
    }
  }

  function show(time) {
    now = Math.min(Math.max(Math.round(time), 0), run.cut);
    slider.value = now;
    slider.setAttribute("aria-valuetext", clock(now));
    part("clock").textContent = clock(now);
    draw();
    words();
  }

  // What is read out where nobody sees the film: only when it stops.
  function tell() {
    const busy = run.elements.map((of, n) => [of.name, root.shown.marbles.filter((marble) => marble.element === n).length]);
    const places = busy.filter(([, count]) => count).map(([name, count]) => `${name} ${count}`);
    part("said").textContent = `At ${clock(now)}: ${places.join(", ")}.`;
  }

  function set(on) {
    playing = on;
    play.textContent = on ? "Pause" : "Play";
    play.setAttribute("aria-pressed", String(on));
    if (on) {
      if (now >= run.cut) show(0);
      let last = performance.now();
      const step = (at) => {
        if (!playing) return;
        show(now + (at - last) * Number(speed.value));
        last = at;
        if (now >= run.cut) set(false);
        else if (calm.matches) setTimeout(() => step(performance.now()), 1000);
        else requestAnimationFrame(step);
      };
      if (calm.matches) setTimeout(() => step(performance.now()), 1000);
      else requestAnimationFrame(step);
    } else {
      tell();
    }
  }

  function jump(time) {
    show(time);
    if (!playing) tell();
  }

  const STEPS = { ArrowLeft: -1000, ArrowDown: -1000, ArrowRight: 1000, ArrowUp: 1000, PageDown: -60000, PageUp: 60000 };
  play.addEventListener("click", () => set(!playing));
  slider.addEventListener("input", () => jump(Number(slider.value)));
  slider.addEventListener("keydown", (key) => {
    if (!(key.key in STEPS)) return;
    key.preventDefault();
    jump(now + STEPS[key.key] * (key.shiftKey ? 10 : 1));
  });
  root.addEventListener("keydown", (key) => {
    if (key.key !== " " || key.target.closest("button, select, summary, a")) return;
    key.preventDefault();
    set(!playing);
  });
  part("back").addEventListener("click", () => jump(now - 10000));
  part("on").addEventListener("click", () => jump(now + 10000));
  follow.addEventListener("change", () => jump(now));
  canvas.addEventListener("click", (click) => {
    const scale = canvas.clientWidth / layout().width;
    const far = ({ at }) => Math.hypot(at[0] * scale - click.offsetX, at[1] * scale - click.offsetY);
    const near = root.dots.filter((dot) => far(dot) < 22).sort((a, b) => far(a) - far(b))[0];
    follow.value = near ? near.of.marble : "";
    jump(now);
  });
  for (let n = 0; n < run.marbles; n++) follow.add(new Option(`marble ${n}`, n));
  // A little before each incident, so that it is seen to come.
  root.querySelectorAll(".incidents button").forEach((button, n) => {
    button.addEventListener("click", () => {
      jump(run.incidents[n].ms - 5000);
      canvas.scrollIntoView({ block: "nearest" });
    });
  });
  for (const incident of run.incidents) {
    const mark = document.createElement("span");
    mark.style.left = `${(100 * incident.ms) / Math.max(run.cut, 1)}%`;
    part("marks").append(mark);
  }
  new ResizeObserver(() => draw()).observe(root);
  show(0);
})();
