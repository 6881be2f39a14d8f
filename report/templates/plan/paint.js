// Painting: nights, days, runs stretch by stretch, names of rows.
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
