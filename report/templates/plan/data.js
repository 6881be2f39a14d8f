// Printers over time: the data, in minutes from the plan's start, and the wall times that belong to them. The files of this
// folder are one script, in the order data, view, paint, read, hand, runs, print.
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
