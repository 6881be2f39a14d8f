// Reading: words for a row and a run, and going from one to the other.
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
