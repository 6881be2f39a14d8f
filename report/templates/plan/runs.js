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
