"use strict";
// Printers over time. The data counts minutes from the plan's start; rows are headings of bays and printers. A box as large
// as the whole chart scrolls, the canvas stays put in its view, and only what is in view is drawn, once a frame.
(() => {
  const data = JSON.parse(document.getElementById("floor-data").textContent);
  const box = document.getElementById("floor");
  const space = document.getElementById("floor-space");
  const canvas = document.getElementById("floor-canvas");
  const said = document.getElementById("floor-said");
  const find = document.getElementById("find");
  const pen = canvas.getContext("2d");
  const HEAD = 34;
  const RUN = { row: 0, plate: 1, load: 2, print: 3, printed: 4, ready: 5, harvest: 6, end: 7, loader: 8, harvester: 9, name: 10, gives: 11 };
  const byRow = data.rows.map(() => []);
  data.runs.forEach((run) => byRow[run[RUN.row]].push(run));
  const downByRow = data.rows.map(() => []);
  data.down.forEach((down) => downByRow[down[0]].push(down));
  const isBay = (row) => data.rows[row].bay !== undefined;
  const printers = data.rows.map((_, row) => row).filter((row) => !isBay(row));

  // Wall time from the plan's own list of offsets.
  const DAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const two = (figure) => String(figure).padStart(2, "0");
  const east = (minute) => data.offsets.reduce((found, [from, offset]) => (from <= minute ? offset : found), data.offsets[0][1]);
  const wall = (minute) => new Date((data.start + minute + east(minute)) * 60000);
  const day = (minute) => { const at = wall(minute); return `${DAYS[at.getUTCDay()]} ${at.getUTCDate()} ${MONTHS[at.getUTCMonth()]}`; };
  const clock = (minute) => { const at = wall(minute); return `${two(at.getUTCHours())}:${two(at.getUTCMinutes())}`; };
  const moment = (minute) => `${day(minute)} ${clock(minute)}`;
  const length = (minutes) => (minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${two(minutes % 60)} min`);

  // The view: pixels a minute, and pixels a row. Where it is scrolled to, the box knows.
  const view = { scale: 0, row: 22, gutter: 120, width: 0, height: 0, paper: null };
  let chosen = null; // { row, run }, run may be null
  let under = null; // what the pointer is over
  let frame = 0;
  const styles = () => {
    const from = getComputedStyle(document.documentElement);
    const value = (name) => from.getPropertyValue(name).trim();
    return Object.fromEntries(["paper", "wash", "ink", "quiet", "rule", "firm", "night", "load", "blocked", "down", "now", "mark"].map((n) => [n, value(`--${n}`)]));
  };
  let colours = styles();
  let family = getComputedStyle(document.body).fontFamily;
  let tiles = new Map();

  function tile(key, path, colour, ratio) {
    if (!tiles.has(key)) {
      const small = document.createElement("canvas");
      small.width = small.height = 8 * ratio;
      const brush = small.getContext("2d");
      brush.scale(ratio, ratio);
      brush.strokeStyle = colour;
      brush.lineWidth = 1.4;
      brush.lineCap = "round";
      brush.stroke(new Path2D(path));
      const pattern = pen.createPattern(small, "repeat");
      pattern.setTransform(new DOMMatrix().scale(1 / ratio));
      tiles.set(key, pattern);
    }
    return tiles.get(key);
  }

  const whole = () => Math.max(0.001, (view.width - view.gutter - 2) / Math.max(1, data.end));
  const closest = () => Math.max(whole(), 6);

  // Lays the scrolling box out anew, keeping the minute that lies at `at` pixels from the chart's left edge where it is.
  function lay(scale, at = (view.width - view.gutter) / 2, minute = null) {
    const held = minute ?? (box.scrollLeft + at) / (view.scale || 1);
    view.scale = Math.min(closest(), Math.max(whole(), scale));
    space.style.width = `${Math.floor(view.gutter + data.end * view.scale + 1)}px`;
    space.style.height = `${HEAD + data.rows.length * view.row}px`;
    box.scrollLeft = held * view.scale - at;
    draw();
  }

  function measure() {
    const was = view.scale && view.scale > whole() * 1.001;
    view.width = box.clientWidth;
    view.gutter = Math.max(64, Math.min(150, view.width * 0.22));
    view.height = Math.min(HEAD + data.rows.length * view.row, Math.max(200, Math.min(innerHeight * 0.76, 736)));
    lay(was ? view.scale : whole());
  }

  function draw() {
    if (!frame) frame = requestAnimationFrame(() => { frame = 0; paint(paper()); });
  }

  // Where and what the screen shows.
  function paper() {
    const ratio = devicePixelRatio || 1;
    const [wide, high] = [Math.round(view.width * ratio), Math.round(view.height * ratio)];
    if (canvas.width !== wide || canvas.height !== high) {
      canvas.width = wide;
      canvas.height = high;
      canvas.style.width = `${view.width}px`;
      canvas.style.height = `${view.height}px`;
      tiles = new Map();
    }
    return { ratio, width: view.width, height: view.height, gutter: view.gutter, row: view.row, scale: view.scale, left: box.scrollLeft, top: box.scrollTop };
  }

  function clipped(text, room) {
    if (room < 12) return "";
    if (pen.measureText(text).width <= room) return text;
    const letters = [...new Intl.Segmenter().segment(text.slice(0, 120))].map((piece) => piece.segment);
    while (letters.length && pen.measureText(`${letters.join("")}…`).width > room) letters.pop();
    return letters.length ? `${letters.join("")}…` : "";
  }

  function paint(on) {
    const { ratio, width, height, gutter, row: high, scale, left, top } = on;
    const x = (minute) => gutter + minute * scale - left;
    const first = left / scale;
    const last = (left + width - gutter) / scale;
    let drawn = 0;
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.fillStyle = colours.paper;
    pen.fillRect(0, 0, width, height);
    pen.save();
    pen.beginPath();
    pen.rect(gutter, 0, width - gutter, height);
    pen.clip();
    pen.fillStyle = colours.night;
    data.unattended.forEach(([from, to]) => {
      if (to > first && from < last) pen.fillRect(x(from), HEAD, (to - from) * scale, height - HEAD);
    });
    const from = Math.max(0, Math.floor(top / high));
    const until = Math.min(data.rows.length, Math.ceil((top + height - HEAD) / high));
    const lines = days(first, last, scale);
    pen.strokeStyle = colours.rule;
    pen.lineWidth = 1;
    pen.beginPath();
    lines.forEach(([minute]) => { pen.moveTo(x(minute) + 0.5, 18); pen.lineTo(x(minute) + 0.5, height); });
    pen.stroke();
    for (let row = from; row < until; row += 1) {
      const y = HEAD + row * high - top;
      if (isBay(row)) continue;
      downByRow[row].forEach(([, begin, end]) => {
        if (end <= first || begin >= last) return;
        pen.fillStyle = tile("down", "M-1-1L9 9M-1 7L1 9M7-1L9 1", colours.down, ratio);
        pen.fillRect(x(begin), y + 1, (end - begin) * scale, high - 2);
        drawn += 1;
      });
      const runs = byRow[row];
      for (let at = firstIn(runs, first); at < runs.length && runs[at][RUN.load] < last; at += 1) {
        bar(runs[at], x, y, high, scale, ratio);
        drawn += 1;
      }
    }
    if (data.now !== null) {
      pen.strokeStyle = colours.now;
      pen.setLineDash([5, 3]);
      pen.lineWidth = 2;
      pen.beginPath();
      pen.moveTo(x(data.now), 18);
      pen.lineTo(x(data.now), height);
      pen.stroke();
      pen.setLineDash([]);
    }
    ring(chosen, x, high, top, scale, 2.5);
    ring(under, x, high, top, scale, 1.25);
    // The head goes over what was scrolled under it.
    pen.fillStyle = colours.paper;
    pen.fillRect(gutter, 0, width - gutter, HEAD - 1);
    pen.font = `13px ${family}`;
    pen.textBaseline = "middle";
    pen.textAlign = "left";
    pen.fillStyle = colours.ink;
    lines.forEach(([minute, label, strong]) => {
      pen.fillStyle = strong ? colours.ink : colours.quiet;
      if (x(minute) + 4 + pen.measureText(label).width <= width) pen.fillText(label, x(minute) + 4, strong ? 10 : 25);
    });
    pen.restore();
    names(on, from, until);
    pen.strokeStyle = colours.firm;
    pen.lineWidth = 1;
    pen.beginPath();
    pen.moveTo(0, HEAD - 0.5);
    pen.lineTo(width, HEAD - 0.5);
    pen.moveTo(gutter - 0.5, 0);
    pen.lineTo(gutter - 0.5, height);
    pen.stroke();
    box.dataset.drawn = drawn;
    box.dataset.scale = scale;
  }

  function names({ gutter, row: high, top, height }, from, until) {
    pen.fillStyle = colours.paper;
    pen.fillRect(0, 0, gutter - 1, height);
    const size = Math.min(13, high - 2);
    pen.textBaseline = "middle";
    for (let row = from; row < until; row += 1) {
      const y = HEAD + row * high - top + high / 2;
      if (y < HEAD) continue;
      const told = data.rows[row];
      pen.textAlign = "left";
      // Rows too narrow for their own names leave room for their bay's.
      if (told.bay === undefined && size < 7) continue;
      if (told.bay !== undefined) {
        pen.font = `italic 600 ${Math.max(11, size)}px ${family}`;
        pen.fillStyle = colours.quiet;
        pen.fillText(clipped(told.bay, gutter - 8), 2, y);
        continue;
      }
      pen.font = `${size}px ${family}`;
      pen.fillStyle = colours.ink;
      const alone = told.at !== undefined && (row === 0 || (!isBay(row - 1) && data.rows[row - 1].at !== told.at));
      const name = clipped(told.name, gutter - 12);
      pen.fillText(name, 6, y);
      const room = gutter - 20 - pen.measureText(name).width;
      if (alone && room > 24) {
        pen.fillStyle = colours.quiet;
        pen.fillText(clipped(told.at, room), 12 + pen.measureText(name).width, y);
      }
      if (chosen && chosen.row === row) {
        pen.fillStyle = colours.mark;
        pen.fillRect(0, y - high / 2 + 1, 3, high - 2);
      }
    }
    pen.fillStyle = colours.paper;
    pen.fillRect(0, 0, gutter - 1, HEAD - 1);
  }

  // Named places of the axis: days at local midnight, and hours where there is room.
  function days(first, last, scale) {
    const places = [];
    const perDay = 1440 * scale;
    const every = Math.max(1, Math.ceil(78 / perDay));
    const hours = perDay > 900 ? 1 : perDay > 420 ? 3 : perDay > 210 ? 6 : 0;
    const begin = wall(0);
    let noon = -(begin.getUTCHours() * 60 + begin.getUTCMinutes()) + 720;
    for (let count = 0; noon - 720 < last; count += 1, noon += 1440) {
      if (noon + 780 < first) continue;
      // From noon back to midnight by the wall clock, whatever the clocks did in the night.
      const at = wall(noon);
      let midnight = noon - at.getUTCHours() * 60 - at.getUTCMinutes();
      midnight += east(noon) - east(midnight);
      if (count % every === 0) places.push([Math.max(midnight, count ? midnight : 0), day(noon), true]);
      for (let hour = hours; hours && hour < 24; hour += hours) {
        let minute = midnight + hour * 60;
        minute += east(midnight) - east(minute);
        if (minute > 0 && minute > first - 60 && minute < last) places.push([minute, clock(minute), false]);
      }
    }
    return places;
  }

  function firstIn(runs, minute) {
    let [low, high] = [0, runs.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (runs[middle][RUN.end] <= minute) low = middle + 1; else high = middle;
    }
    return low;
  }

  // One run: load, the parts one above the other while it prints, cooling, a thread while it waits, harvest.
  function bar(run, x, y, high, scale, ratio) {
    const top = y + (high > 9 ? 2 : 0.5);
    const tall = high - (high > 9 ? 4 : 1);
    const [print, printed, ready] = [x(run[RUN.print]), x(run[RUN.printed]), x(run[RUN.ready])];
    const copies = data.plates[run[RUN.plate]].copies;
    const wide = Math.max(printed - print, 0.75);
    copies.forEach(([part], place) => {
      const { fill, shade, tile: path } = data.parts[part];
      const piece = tall / copies.length;
      const at = top + piece * place;
      pen.fillStyle = fill;
      pen.fillRect(print, at, wide, piece);
      if (path && wide > 3 && piece > 3) {
        // The pattern runs along the foot of a bar that has room for its name, and over all of a thin one.
        const foot = high >= 16 ? Math.min(piece, Math.max(4, piece * 0.34)) : piece;
        // Laid from the bar's own corner, so that it moves with the bar.
        pen.save();
        pen.translate(print, at + piece - foot);
        pen.fillStyle = tile(`p${part}`, path, shade, ratio);
        pen.fillRect(0, 0, wide, foot);
        pen.restore();
      }
    });
    const edge = copies.length ? data.parts[copies[0][0]].shade : colours.ink;
    pen.lineWidth = 1;
    if (ready > printed) {
      pen.strokeStyle = edge;
      pen.beginPath();
      for (let at = printed + 1.5; at < ready; at += 3) { pen.moveTo(at, top); pen.lineTo(at, top + tall); }
      pen.stroke();
    }
    const harvest = x(run[RUN.harvest]);
    if (harvest > ready) {
      pen.fillStyle = colours.blocked;
      pen.fillRect(ready, top + tall / 2 - 1, harvest - ready, Math.min(2, tall));
    }
    if (wide > 2.5 && tall > 3) {
      pen.strokeStyle = edge;
      pen.strokeRect(print + 0.5, top + 0.5, Math.max(ready - print, wide) - 1, tall - 1);
    }
    pen.fillStyle = colours.load;
    const load = x(run[RUN.load]);
    if (print > load) pen.fillRect(load, top, Math.max(1, print - load), tall);
    pen.fillRect(harvest, top, Math.max(1, (run[RUN.end] - run[RUN.harvest]) * scale), tall);
    if (high >= 16 && wide > 40) {
      pen.font = `11px ${family}`;
      pen.textAlign = "left";
      pen.textBaseline = "middle";
      pen.fillStyle = "#111";
      const begin = Math.max(print, view.paper ?? view.gutter);
      pen.fillText(clipped(data.plates[run[RUN.plate]].name, printed - begin - 7), begin + 4, top + tall * 0.36);
    }
  }

  function ring(place, x, high, top, scale, thick) {
    if (!place) return;
    const y = HEAD + place.row * high - top;
    pen.strokeStyle = colours.mark;
    pen.lineWidth = thick;
    if (place.run) {
      const load = x(place.run[RUN.load]);
      pen.strokeRect(load - 1.5, y + 0.5, Math.max(4, x(place.run[RUN.end]) - load) + 3, high - 1);
    } else {
      pen.strokeRect(view.gutter + 1, y + 0.5, x(data.end) - view.gutter - 2, high - 1);
    }
  }

  // Words for a row and a run.
  function words({ row, run }) {
    const told = data.rows[row];
    const lines = [];
    if (run) {
      const plate = data.plates[run[RUN.plate]];
      const copies = plate.copies.map(([part, count]) => `${count} ${data.parts[part].name}`).join(" and ");
      lines.push(`${run[RUN.name]}: ${plate.name} (${copies}) on ${told.name}`);
      const person = (who) => (who < 0 ? "" : ` by ${data.people[who]}`);
      const begun = run[RUN.loader] < 0
        ? "on the printer at the start"
        : `load ${moment(run[RUN.load])}${person(run[RUN.loader])}, prints from ${clock(run[RUN.print])}`;
      const wait = run[RUN.harvest] - run[RUN.ready];
      lines.push(`${begun}, ready ${moment(run[RUN.ready])}, ${wait > 0 ? `blocked for ${length(wait)}, ` : ""}harvest ${moment(run[RUN.harvest])} to ${clock(run[RUN.end])}${person(run[RUN.harvester])}; prints for ${length(run[RUN.printed] - run[RUN.print])}`);
      const gives = [];
      for (let at = 0; at < run[RUN.gives].length; at += 3) {
        const [shipment, part, count] = run[RUN.gives].slice(at, at + 3);
        gives.push(`${count} ${data.parts[part].name} for ${data.shipments[shipment]}`);
      }
      lines.push(gives.length ? `gives ${gives.join(", ")}` : "gives nothing to a shipment");
    }
    const runs = byRow[row];
    const sum = (from, to) => runs.reduce((total, one) => total + Math.max(0, Math.min(one[to], data.end) - Math.max(0, one[from])), 0);
    const downs = downByRow[row].map(([, begin, end, why]) => `down ${moment(begin)} to ${moment(end)}${why ? ` (${why})` : ""}`);
    lines.push([`printer ${told.name}, group ${data.groups[told.group]}${told.at !== undefined ? `, bay ${told.at}` : ""}: ${runs.length} ${runs.length === 1 ? "run" : "runs"}, prints for ${length(sum(RUN.print, RUN.printed))} of ${length(data.end)}, blocked for ${length(sum(RUN.ready, RUN.harvest))}`, ...downs].join(", "));
    return lines;
  }

  function say(place) {
    said.replaceChildren(...words(place).flatMap((line, at) => {
      const text = document.createElement("bdi");
      text.textContent = line;
      return at ? [document.createElement("br"), text] : [text];
    }));
  }

  function choose(place, show = true) {
    chosen = place;
    say(place);
    if (show) reveal(place);
    draw();
  }

  // Scrolls no more than is needed to see the place.
  function reveal({ row, run }) {
    const y = row * view.row;
    const room = view.height - HEAD;
    if (y < box.scrollTop) box.scrollTop = row && isBay(row - 1) ? y - view.row : y;
    else if (y + view.row > box.scrollTop + room) box.scrollTop = y + view.row - room;
    if (!run) return;
    const [left, right] = [run[RUN.load] * view.scale, run[RUN.end] * view.scale];
    const wide = view.width - view.gutter;
    if (left < box.scrollLeft || right > box.scrollLeft + wide) box.scrollLeft = right - left > wide ? left - 8 : (left + right - wide) / 2;
  }

  function at(event) {
    const edge = canvas.getBoundingClientRect();
    const [px, py] = [event.clientX - edge.left, event.clientY - edge.top];
    const row = Math.floor((py - HEAD + box.scrollTop) / view.row);
    if (py < HEAD || row < 0 || row >= data.rows.length || isBay(row)) return null;
    const minute = (px - view.gutter + box.scrollLeft) / view.scale;
    const run = px < view.gutter ? null : byRow[row][firstIn(byRow[row], minute)];
    return { row, run: run && run[RUN.load] <= minute ? run : null };
  }

  // Keyboard: from run to run and from printer to printer.
  function step(key) {
    const here = chosen ?? { row: printers[0], run: null };
    if (here.row === undefined) return;
    const runs = byRow[here.row];
    const now = here.run ? runs.indexOf(here.run) : -1;
    const row = (by) => {
      const place = Math.max(0, Math.min(printers.length - 1, printers.indexOf(here.row) + by));
      const next = printers[place];
      const minute = here.run ? here.run[RUN.load] + 1 : -1;
      const near = byRow[next][Math.min(firstIn(byRow[next], minute), byRow[next].length - 1)];
      return { row: next, run: here.run ? near ?? null : null };
    };
    const moves = {
      ArrowRight: () => ({ row: here.row, run: runs[Math.min(now + 1, runs.length - 1)] ?? null }),
      ArrowLeft: () => ({ row: here.row, run: now > 0 ? runs[now - 1] : null }),
      ArrowDown: () => row(chosen ? 1 : 0), ArrowUp: () => row(-1), PageDown: () => row(10), PageUp: () => row(-10),
      Home: () => ({ row: here.row, run: runs[0] ?? null }), End: () => ({ row: here.row, run: runs.at(-1) ?? null }),
    };
    choose(moves[key]());
  }

  const focus = () => (chosen?.run ? (chosen.run[RUN.load] + chosen.run[RUN.end]) / 2 : null);
  function zoom(by) {
    const minute = focus();
    lay(view.scale * by, (view.width - view.gutter) / 2, minute);
  }

  const actions = {
    closer: () => zoom(1.6),
    wider: () => zoom(1 / 1.6),
    all: () => lay(whole(), 0, 0),
    day: () => lay((view.width - view.gutter) / 1440, 0, chosen?.run ? chosen.run[RUN.load] - 60 : box.scrollLeft / view.scale),
    rows: (button) => {
      const narrow = view.row === 22;
      const middle = (box.scrollTop + (view.height - HEAD) / 2) / view.row;
      view.row = narrow ? 7 : 22;
      button.setAttribute("aria-pressed", String(narrow));
      measure();
      box.scrollTop = middle * view.row - (view.height - HEAD) / 2;
    },
    next: () => seek(),
  };
  document.querySelectorAll("[data-view]").forEach((button) => button.addEventListener("click", () => actions[button.dataset.view](button)));

  // Finding: printers, plates and runs whose name holds the words.
  const folded = (text) => text.toLocaleLowerCase("en");
  function matches(row, run) {
    const sought = folded(find.value.trim());
    if (!sought) return run !== null;
    const texts = run ? [run[RUN.name], data.plates[run[RUN.plate]].name, data.rows[row].name] : [data.rows[row].name];
    return texts.some((text) => folded(text).includes(sought));
  }
  function seek() {
    const places = printers.flatMap((row) => [{ row, run: null }, ...byRow[row].map((run) => ({ row, run }))]);
    const from = chosen ? places.findIndex((p) => p.row === chosen.row && p.run === chosen.run) : -1;
    for (let count = 1; count <= places.length; count += 1) {
      const place = places[(from + count) % places.length];
      if (matches(place.row, place.run)) { choose(place); return; }
    }
    said.textContent = "Nothing has that name.";
  }
  find.addEventListener("keydown", (event) => { if (event.key === "Enter") seek(); });
  find.addEventListener("input", () => { page = 0; list(); });

  box.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const zooms = { "+": actions.closer, "=": actions.closer, "-": actions.wider, 0: actions.all };
    if (zooms[event.key]) zooms[event.key]();
    else if (["ArrowRight", "ArrowLeft", "ArrowUp", "ArrowDown", "PageUp", "PageDown", "Home", "End"].includes(event.key)) step(event.key);
    else return;
    event.preventDefault();
  });
  box.addEventListener("scroll", draw, { passive: true });
  box.addEventListener("wheel", (event) => {
    if (!event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    const left = event.clientX - canvas.getBoundingClientRect().left - view.gutter;
    lay(view.scale * Math.exp(-event.deltaY / 300), Math.max(0, left));
  }, { passive: false });

  // A mouse drags; fingers scroll by themselves, and two of them zoom.
  const held = new Map();
  let drag = null;
  box.addEventListener("pointerdown", (event) => {
    held.set(event.pointerId, event);
    if (event.pointerType === "mouse" && event.button === 0) drag = { x: event.clientX, y: event.clientY, left: box.scrollLeft, top: box.scrollTop, moved: false };
  });
  box.addEventListener("pointermove", (event) => {
    if (held.size === 2 && held.has(event.pointerId)) {
      const spread = () => { const [a, b] = [...held.values()]; return Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY); };
      const before = spread();
      held.set(event.pointerId, event);
      const [a, b] = [...held.values()];
      const middle = (a.clientX + b.clientX) / 2 - canvas.getBoundingClientRect().left - view.gutter;
      if (before > 0) lay(view.scale * (spread() / before), Math.max(0, middle));
      return;
    }
    if (drag) {
      drag.moved ||= Math.hypot(event.clientX - drag.x, event.clientY - drag.y) > 4;
      if (drag.moved) {
        if (!box.hasPointerCapture(event.pointerId)) box.setPointerCapture(event.pointerId);
        box.classList.add("drags");
        box.scrollLeft = drag.left - (event.clientX - drag.x);
        box.scrollTop = drag.top - (event.clientY - drag.y);
        return;
      }
    }
    if (event.pointerType !== "mouse") return;
    const place = at(event);
    if (place?.row === under?.row && place?.run === under?.run) return;
    under = place;
    if (place) say(place); else if (chosen) say(chosen);
    draw();
  });
  const release = (event) => {
    held.delete(event.pointerId);
    if (event.type === "pointerup" && !drag?.moved) {
      const place = at(event);
      if (place) choose(place, false);
    }
    drag = null;
    box.classList.remove("drags");
  };
  box.addEventListener("pointerup", release);
  box.addEventListener("pointercancel", release);
  box.addEventListener("pointerleave", () => { if (under) { under = null; if (chosen) say(chosen); draw(); } });
  box.addEventListener("focus", () => { if (!chosen && printers.length) choose({ row: printers[0], run: byRow[printers[0]][0] ?? null }, false); });

  // Runs as a table, so many at a time.
  const table = document.getElementById("runs-table");
  const body = document.querySelector("#runs tbody");
  const where = document.getElementById("runs-where");
  const SHOWN = 50;
  let page = 0;
  function list() {
    if (!table.open) return;
    const runs = data.runs.filter((run) => matches(run[RUN.row], run));
    const pages = Math.max(1, Math.ceil(runs.length / SHOWN));
    page = Math.max(0, Math.min(page, pages - 1));
    const shown = runs.slice(page * SHOWN, (page + 1) * SHOWN);
    body.replaceChildren(...shown.map((run) => {
      const row = document.createElement("tr");
      const gives = new Set();
      for (let at = 0; at < run[RUN.gives].length; at += 3) gives.add(data.shipments[run[RUN.gives][at]]);
      const cells = [run[RUN.name], data.rows[run[RUN.row]].name, data.plates[run[RUN.plate]].name, run[RUN.loader] < 0 ? "before the start" : moment(run[RUN.load]), moment(run[RUN.print]), moment(run[RUN.ready]), moment(run[RUN.harvest]), [...gives].join(", ")];
      cells.forEach((text, column) => {
        const cell = document.createElement(column ? "td" : "th");
        if (!column) cell.scope = "row";
        const isolated = document.createElement("bdi");
        isolated.textContent = text;
        cell.append(isolated);
        row.append(cell);
      });
      return row;
    }));
    where.textContent = runs.length ? `${page * SHOWN + 1} to ${page * SHOWN + shown.length} of ${runs.length}` : "no run has that name";
  }
  table.addEventListener("toggle", list);
  document.querySelectorAll("[data-runs]").forEach((button) => button.addEventListener("click", () => {
    page += button.dataset.runs === "on" ? 1 : -1;
    list();
  }));

  // On paper: all of it, as fine as one sheet asks for, in the colours of paper.
  const onPaper = () => {
    colours = { ...styles() };
    const row = Math.max(1.2, Math.min(16, 1250 / data.rows.length));
    const [width, height] = [1500, HEAD + data.rows.length * row];
    const gutter = row >= 9 ? 130 : 24;
    canvas.width = width * 2;
    canvas.height = height * 2;
    canvas.style.width = "100%";
    canvas.style.height = "auto";
    tiles = new Map();
    view.paper = gutter;
    const marks = [chosen, under];
    [chosen, under] = [null, null];
    paint({ ratio: 2, width, height, gutter, row, scale: (width - gutter - 2) / Math.max(1, data.end), left: 0, top: 0 });
    [chosen, under] = marks;
  };
  const onScreen = () => {
    view.paper = null;
    colours = styles();
    canvas.width = 0;
    tiles = new Map();
    measure();
  };
  addEventListener("beforeprint", onPaper);
  addEventListener("afterprint", onScreen);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", onScreen);
  new ResizeObserver(() => { if (view.paper === null && box.clientWidth !== view.width) measure(); }).observe(box);
  measure();
})();
