// Pockets of a wheel from near: draws the stills that a close look kept. Lengths are millimetres, times milliseconds.
"use strict";
(() => {
  const root = document.querySelector(".near");
  const near = JSON.parse(document.getElementById("near").textContent);
  const part = (name) => root.querySelector("." + name);
  const canvas = part("look");
  const pen = canvas.getContext("2d");
  const [turn, slider, deed] = ["turn", "moment", "deed"].map(part);
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const colour = (name) => getComputedStyle(root).getPropertyValue("--film-" + name).trim();
  const GAP = 12; // between the two views, pixels
  const NEARER = 1.5 * near.diameter; // what lies so far before the face stands between it and the eye
  const STEP = 100; // ms of the machine from still to still for who asks for less motion
  let scene = near.scenes[0];
  let playing = false;

  const [along, across, up] = [near.along, near.across, near.up];
  const wide = (range) => range[1] - range[0];

  function closed(points) {
    pen.beginPath();
    points.forEach(([x, y], k) => (k ? pen.lineTo(x, y) : pen.moveTo(x, y)));
    pen.closePath();
  }

  function filled(points, fill, line) {
    closed(points);
    if (fill) {
      pen.fillStyle = fill;
      pen.fill();
    }
    if (!line) return;
    pen.strokeStyle = line;
    pen.lineWidth = 1;
    pen.stroke();
  }

  function disc([x, y], radius, fill, line) {
    pen.beginPath();
    pen.arc(x, y, radius, 0, 2 * Math.PI);
    if (fill) {
      pen.fillStyle = fill;
      pen.fill();
    }
    pen.strokeStyle = line;
    pen.lineWidth = 1;
    pen.stroke();
  }

  // One view: draws `paint` within its frame, with what turns two directions into pixels.
  function view(left, range, scale, paint) {
    const [width, height] = [wide(range) * scale, wide(up) * scale];
    const at = (across, z) => [left + (across - range[0]) * scale, height - (z - up[0]) * scale];
    pen.save();
    pen.beginPath();
    pen.rect(left, 0, width, height);
    pen.clip();
    paint(at, [left, width, height]);
    pen.restore();
    pen.strokeStyle = colour("axis");
    pen.lineWidth = 1;
    pen.strokeRect(left + 0.5, 0.5, width - 1, height - 1);
  }

  // The middles of the pockets' mouths, y and z.
  function mouths(pocket) {
    return Array.from({ length: near.pockets }, (_, k) => {
      const past = pocket - (k * 2 * Math.PI) / near.pockets;
      return [near.pitchRadius * Math.sin(past), -near.pitchRadius * Math.cos(past)];
    });
  }

  const ball = (marble) => colour(marble[0] === scene.marked ? "limit" : "flow-text");

  // The marble that is described is seen through whatever stands before it.
  function ringed(still, at, scale) {
    for (const marble of still.marbles.filter((marble) => marble[0] === scene.marked)) {
      pen.beginPath();
      pen.arc(...at(marble), marble[4] * scale, 0, 2 * Math.PI);
      pen.strokeStyle = colour("limit");
      pen.lineWidth = 2;
      pen.stroke();
    }
  }

  function fromTheSide(still, scale) {
    view(0, along, scale, (at, [left, width, height]) => {
      pen.fillStyle = colour("paper");
      pen.fillRect(left, 0, width, height);
      pen.fillStyle = colour("wood");
      pen.fillRect(at(0, 0)[0], 0, width, height);
      const mouth = mouths(still.pocket).reduce((low, other) => (other[1] < low[1] ? other : low));
      const half = near.bore * near.bore * 0.25 - mouth[0] * mouth[0];
      if (half > 0) {
        const [c, s, cut] = [Math.cos(near.tilt), Math.sin(near.tilt), Math.sqrt(half) / Math.cos(near.tilt)];
        const deep = (z) => at(near.depth * c, z - near.depth * s);
        filled([at(0, mouth[1] + cut), deep(mouth[1] + cut), deep(mouth[1] - cut), at(0, mouth[1] - cut)], colour("paper"));
      }
      filled(near.side[0].map(([x, z]) => at(x, z)), colour("pale"));
      const order = [...still.marbles].sort((a, b) => a[2] - b[2]);
      for (const marble of order) disc(at(marble[1], marble[3]), marble[4] * scale, ball(marble), colour("paper"));
      for (const block of near.side) filled(block.map(([x, z]) => at(x, z)), null, colour("axis"));
      filled([at(0, up[0]), at(0, up[1])], null, colour("ink"));
      ringed(still, (marble) => at(marble[1], marble[3]), scale);
    });
  }

  function alongTheRamp(still, scale) {
    view(wide(along) * scale + GAP, across, scale, (at, [left, width, height]) => {
      pen.fillStyle = colour("wood");
      pen.fillRect(left, 0, width, height);
      for (const [y, z] of mouths(still.pocket)) disc(at(y, z), near.bore * 0.5 * scale, colour("paper"), colour("axis"));
      const order = still.marbles.filter((marble) => marble[1] > -NEARER).sort((a, b) => b[1] - a[1]);
      for (const marble of order) disc(at(marble[2], marble[3]), marble[4] * scale, ball(marble), colour("paper"));
      pen.globalAlpha = 0.7;
      for (const block of near.face) filled(block.map(([y, z]) => at(y, z)), colour("pale"), colour("ink"));
      pen.globalAlpha = 1;
      for (const marble of still.marbles.filter((marble) => marble[1] <= -NEARER)) {
        disc(at(marble[2], marble[3]), marble[4] * scale, null, colour("axis"));
      }
      ringed(still, (marble) => at(marble[2], marble[3]), scale);
    });
  }

  function draw() {
    const still = scene.stills[Number(slider.value)];
    const scale = (canvas.clientWidth - GAP) / (wide(along) + wide(across));
    const dense = window.devicePixelRatio || 1;
    const height = wide(up) * scale;
    canvas.style.height = `${height}px`;
    canvas.width = Math.round(canvas.clientWidth * dense);
    canvas.height = Math.round(height * dense);
    pen.setTransform(dense, 0, 0, dense, 0, 0);
    fromTheSide(still, scale);
    alongTheRamp(still, scale);
    root.shown = { deed: scene.deed, still, scale };
  }

  function show(k) {
    slider.value = Math.min(Math.max(k, 0), scene.stills.length - 1);
    const still = scene.stills[Number(slider.value)];
    const seconds = (still.ms / 1000).toFixed(2);
    const clock = `${still.ms < 0 ? "\u2212" : "+"}${seconds.replace("-", "")} s`;
    part("stands").textContent = `${clock}, wheel at ${still.speed} % of its speed`;
    slider.setAttribute("aria-valuetext", `${scene.deed}, ${part("stands").textContent}`);
    draw();
  }

  function set(on) {
    playing = on;
    turn.textContent = on ? "Pause" : "Play";
    turn.setAttribute("aria-pressed", String(on));
    if (!on) return;
    if (Number(slider.value) >= scene.stills.length - 1) show(0);
    let last = performance.now();
    let ms = scene.stills[Number(slider.value)].ms;
    const step = (at) => {
      if (!playing) return;
      ms += calm.matches ? STEP : (at - last) / near.slower;
      last = at;
      const next = scene.stills.findIndex((still) => still.ms >= ms);
      show(next < 0 ? scene.stills.length - 1 : next);
      if (next < 0) set(false);
      else wait(step);
    };
    const wait = (then) => (calm.matches ? setTimeout(() => then(performance.now()), 1000) : requestAnimationFrame(then));
    wait(step);
  }

  function choose(n) {
    set(false);
    scene = near.scenes[n];
    slider.max = scene.stills.length - 1;
    show(scene.stills.findIndex((still) => still.ms >= 0));
  }

  near.scenes.forEach((of, n) => deed.add(new Option(of.deed, n)));
  deed.addEventListener("change", () => choose(Number(deed.value)));
  slider.addEventListener("input", () => show(Number(slider.value)));
  turn.addEventListener("click", () => set(!playing));
  // The run beside it has keys of its own.
  root.addEventListener("keydown", (key) => key.stopPropagation());
  new ResizeObserver(() => draw()).observe(root);
  choose(0);
})();
