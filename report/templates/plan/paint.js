// Painting: nights, days, runs stretch by stretch, names of rows.
function clipped(on, text, room) {
  if (room < 12) return "";
  if (on.measureText(text).width <= room) return text;
  const letters = [...new Intl.Segmenter().segment(text.slice(0, 120))].map((piece) => piece.segment);
  while (letters.length && on.measureText(`${letters.join("")}…`).width > room) letters.pop();
  return letters.length ? `${letters.join("")}…` : "";
}

// The ground is kept as a picture of its own: nights, days, downtime and runs. Where the chart only moved, the picture moves and
// the strips that came into view are painted; a run that is pointed at costs no run painted at all.
const back = document.createElement("canvas");
const brush = back.getContext("2d", { alpha: false });
let laid = null; // what the ground shows
// Rows this high hold the names of their plates, and outlines.
const NAMED = 16;

function paint(on) {
  const { ratio, width, height, gutter, scale, left } = on;
  const x = (minute) => gutter + minute * scale - left;
  const lines = days(left / scale, (left + width - gutter) / scale, scale);
  const drawn = ground(on, lines);
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.drawImage(back, 0, 0);
  pen.setTransform(ratio, 0, 0, ratio, 0, 0);
  pen.save();
  pen.beginPath();
  pen.rect(gutter, 0, width - gutter, height);
  pen.clip();
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
  ring(chosen, x, on, 2.5);
  ring(under, x, on, 1.25);
  // The head goes over what was scrolled under it.
  pen.fillStyle = colours.paper;
  pen.fillRect(gutter, 0, width - gutter, HEAD - 1);
  pen.strokeStyle = colours.rule;
  pen.lineWidth = 1;
  pen.beginPath();
  lines.forEach(([minute]) => { pen.moveTo(x(minute) + 0.5, 18); pen.lineTo(x(minute) + 0.5, HEAD); });
  pen.stroke();
  pen.font = `13px ${family}`;
  pen.textBaseline = "middle";
  pen.textAlign = "left";
  lines.forEach(([minute, label, strong]) => {
    pen.fillStyle = strong ? colours.ink : colours.quiet;
    if (x(minute) + 4 + pen.measureText(label).width <= width) pen.fillText(label, x(minute) + 4, strong ? 10 : 25);
  });
  pen.restore();
  names(on);
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

// Brings the ground to where the view is, and counts the runs and stretches of downtime painted for that.
function ground(on, lines) {
  const { ratio, width, height, gutter, row, scale, left, top } = on;
  const [wide, high] = [canvas.width, canvas.height];
  const move = laid && laid.scale === scale && laid.row === row && laid.gutter === gutter && back.width === wide && back.height === high
    ? [Math.round((left - laid.left) * ratio), Math.round((top - laid.top) * ratio)]
    : null;
  laid = on;
  if (back.width !== wide || back.height !== high) [back.width, back.height] = [wide, high];
  // Names keep to the left edge of what is seen of their bar, so that rows with names are painted anew when time moves.
  if (!move || (move[0] && row >= NAMED) || Math.abs(move[0]) >= wide || Math.abs(move[1]) >= high) {
    return stretch(on, lines, gutter, HEAD, width, height);
  }
  const [across, down] = move;
  let drawn = 0;
  if (across || down) {
    brush.setTransform(1, 0, 0, 1, 0, 0);
    brush.drawImage(back, -across, -down);
  }
  const [x, y] = [Math.abs(across) / ratio, Math.abs(down) / ratio];
  if (down > 0) drawn += stretch(on, lines, gutter, height - y, width, height);
  if (down < 0) drawn += stretch(on, lines, gutter, HEAD, width, HEAD + y);
  if (across > 0) drawn += stretch(on, lines, width - x, HEAD, width, height);
  if (across < 0) drawn += stretch(on, lines, gutter, HEAD, gutter + x, height);
  return drawn;
}

// Paints the ground between two corners, out to whole dots.
function stretch(on, lines, ...corners) {
  const { ratio, gutter, row: high, scale, left, top } = on;
  const [west, north, right, south] = corners.map((at, place) => (place < 2 ? Math.floor(at * ratio + 0.01) : Math.ceil(at * ratio - 0.01)) / ratio);
  // A load of less than a dot is drawn as one, so what ends just outside shows too.
  const first = (left + west - gutter - 2) / scale;
  const last = (left + right - gutter + 2) / scale;
  const x = (minute) => minute * scale;
  let drawn = 0;
  brush.save();
  brush.setTransform(ratio, 0, 0, ratio, 0, 0);
  brush.beginPath();
  brush.rect(west, north, right - west, south - north);
  brush.clip();
  brush.fillStyle = colours.paper;
  brush.fillRect(west, north, right - west, south - north);
  brush.translate(gutter - left, 0);
  brush.fillStyle = colours.night;
  data.unattended.forEach(([from, to]) => {
    if (to > first && from < last) brush.fillRect(x(from), north, (to - from) * scale, south - north);
  });
  brush.strokeStyle = colours.rule;
  brush.lineWidth = 1;
  brush.beginPath();
  lines.forEach(([minute]) => { brush.moveTo(x(minute) + 0.5, north); brush.lineTo(x(minute) + 0.5, south); });
  brush.stroke();
  const from = Math.max(0, Math.floor((north - HEAD + top) / high));
  const until = Math.min(data.rows.length, Math.ceil((south - HEAD + top) / high));
  for (let row = from; row < until; row += 1) {
    if (isBay(row)) continue;
    // From here on a row's own corner is the origin, and patterns are laid from there: they move with the chart.
    brush.setTransform(ratio, 0, 0, ratio, (gutter - left) * ratio, (HEAD + row * high - top) * ratio);
    downByRow[row].forEach(([, begin, end]) => {
      if (end <= first || begin >= last) return;
      brush.fillStyle = tile("down", "M-1-1L9 9M-1 7L1 9M7-1L9 1", colours.down, null, ratio);
      brush.fillRect(x(begin), 1, (end - begin) * scale, high - 2);
      drawn += 1;
    });
    const runs = byRow[row];
    for (let at = firstIn(runs, first); at < runs.length && runs[at][RUN.load] < last; at += 1) {
      bar(runs[at], high, scale, ratio, left);
      drawn += 1;
    }
  }
  brush.restore();
  return drawn;
}

function names({ gutter, row: high, top, height }) {
  const from = Math.max(0, Math.floor(top / high));
  const until = Math.min(data.rows.length, Math.ceil((top + height - HEAD) / high));
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
      pen.fillText(clipped(pen, told.bay, gutter - 8), 2, y);
      continue;
    }
    pen.font = `${size}px ${family}`;
    pen.fillStyle = colours.ink;
    const alone = told.at !== undefined && (row === 0 || (!isBay(row - 1) && data.rows[row - 1].at !== told.at));
    const name = clipped(pen, told.name, gutter - 12);
    pen.fillText(name, 6, y);
    const room = gutter - 20 - pen.measureText(name).width;
    if (alone && room > 24) {
      pen.fillStyle = colours.quiet;
      pen.fillText(clipped(pen, told.at, room), 12 + pen.measureText(name).width, y);
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
// A run's bar, from its row's corner; a name begins no further left than `edge`.
function bar(run, high, scale, ratio, edge) {
  const tall = high > 9 ? high - 4 : Math.max(high - 1, high * 0.8);
  const top = high < 3 ? (high - tall) / 2 : Math.round((high - tall) / 2);
  // On whole dots where runs are many: edges need no blending then.
  const x = (at) => (high < NAMED ? Math.round(run[at] * scale * ratio) / ratio : run[at] * scale);
  const [load, print, printed, ready, harvest] = [x(RUN.load), x(RUN.print), x(RUN.printed), x(RUN.ready), x(RUN.harvest)];
  const { name, copies } = data.plates[run[RUN.plate]];
  const wide = Math.max(printed - print, 0.75);
  const piece = tall / copies.length;
  for (let place = 0; place < copies.length; place += 1) {
    const part = copies[place][0];
    const { fill, shade, tile: path } = data.parts[part];
    const at = top + piece * place;
    const patterned = path && wide > 3 && piece > 3;
    // The pattern runs along the foot of a bar that has room for its name, and over all of a thin one.
    brush.fillStyle = patterned && high < NAMED ? tile(`f${part}`, path, shade, fill, ratio) : fill;
    brush.fillRect(print, at, wide, piece);
    if (!patterned || high < NAMED) continue;
    const foot = Math.min(piece, Math.max(4, piece * 0.34));
    brush.translate(0, at + piece - foot);
    brush.fillStyle = tile(`p${part}`, path, shade, null, ratio);
    brush.fillRect(print, 0, wide, foot);
    brush.translate(0, foot - at - piece);
  }
  const edged = copies.length ? data.parts[copies[0][0]].shade : colours.ink;
  brush.lineWidth = 1;
  if (ready > printed) {
    brush.strokeStyle = edged;
    brush.beginPath();
    for (let at = printed + 1.5; at < ready; at += 3) { brush.moveTo(at, top); brush.lineTo(at, top + tall); }
    brush.stroke();
  }
  if (harvest > ready) {
    brush.fillStyle = colours.blocked;
    brush.fillRect(ready, top + tall / 2 - 1, harvest - ready, Math.min(2, tall));
  }
  if (wide > 2.5 && high >= NAMED) {
    brush.strokeStyle = edged;
    brush.strokeRect(print + 0.5, top + 0.5, Math.max(ready - print, wide) - 1, tall - 1);
  }
  brush.fillStyle = colours.load;
  if (print > load) brush.fillRect(load, top, Math.max(1, print - load), tall);
  brush.fillRect(harvest, top, Math.max(1, x(RUN.end) - harvest), tall);
  if (high >= NAMED && wide > 40) {
    brush.font = `11px ${family}`;
    brush.textAlign = "left";
    brush.textBaseline = "middle";
    brush.fillStyle = "#111";
    const begin = Math.max(print, edge);
    brush.fillText(clipped(brush, name, printed - begin - 7), begin + 4, top + tall * 0.36);
  }
}

function ring(place, x, { gutter, row: high, scale, top }, thick) {
  if (!place) return;
  const y = HEAD + place.row * high - top;
  pen.strokeStyle = colours.mark;
  pen.lineWidth = thick;
  if (place.run) {
    const load = x(place.run[RUN.load]);
    pen.strokeRect(load - 1.5, y + 0.5, Math.max(4, x(place.run[RUN.end]) - load) + 3, high - 1);
  } else {
    pen.strokeRect(gutter + 1, y + 0.5, x(data.end) - gutter - 2, high - 1);
  }
}
