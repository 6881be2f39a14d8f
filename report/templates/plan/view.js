// What is in view. A box as large as the whole chart scrolls, the canvas stays put in its view, and only what is in view is
// drawn, once a frame.
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

// A part's pattern, on its ground where one is given.
function tile(key, path, colour, ground, ratio) {
  if (!tiles.has(key)) {
    const small = document.createElement("canvas");
    small.width = small.height = 8 * ratio;
    const ink = small.getContext("2d");
    ink.scale(ratio, ratio);
    if (ground) { ink.fillStyle = ground; ink.fillRect(0, 0, 8, 8); }
    ink.strokeStyle = colour;
    ink.lineWidth = 1.4;
    ink.lineCap = "round";
    ink.stroke(new Path2D(path));
    const pattern = brush.createPattern(small, "repeat");
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
  view.gutter = Math.round(Math.max(64, Math.min(150, view.width * 0.22)));
  view.height = Math.min(HEAD + data.rows.length * view.row, Math.round(Math.max(200, Math.min(innerHeight * 0.76, 736))));
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
    [tiles, laid] = [new Map(), null];
  }
  // On whole dots, so that what was painted can be moved.
  const dots = (at) => Math.round(at * ratio) / ratio;
  return { ratio, width: view.width, height: view.height, gutter: view.gutter, row: view.row, scale: view.scale, left: dots(box.scrollLeft), top: dots(box.scrollTop) };
}
