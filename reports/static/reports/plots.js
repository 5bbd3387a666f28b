// The value of a plot under the finger, the mouse or the arrow keys. The table beside the plot is the only source:
// each row carries its place on the paper (data-at), each cell the height of its curve there.

const SVG = "http://www.w3.org/2000/svg";

function rowsOf(plot) {
  plot.rows ??= [...plot.querySelectorAll("tbody tr")].map((row) => ({
    row,
    x: Number(row.dataset.at),
    name: row.querySelector("th").textContent.trim(),
    cells: [...row.querySelectorAll("td")].map((cell) => ({
      y: cell.dataset.at === "" ? null : Number(cell.dataset.at),
      text: cell.textContent.trim(),
    })),
  }));
  return plot.rows;
}

function dress(root) {
  for (const field of root.querySelectorAll(".plot-field:not([role])")) {
    const plot = field.closest(".plot");
    const last = rowsOf(plot).length - 1;
    if (last < 0) continue;
    field.setAttribute("role", "slider");
    field.setAttribute("tabindex", "0");
    field.setAttribute("aria-valuemin", "1");
    field.setAttribute("aria-valuemax", String(last + 1));
    field.setAttribute("aria-label", field.dataset.label);
    tell(plot, 0, false);
  }
}

function tell(plot, index, drawn = true) {
  const rows = rowsOf(plot);
  const at = Math.max(0, Math.min(rows.length - 1, index));
  const found = rows[at];
  const names = [...plot.querySelectorAll("thead th")].map((head) => head.textContent.trim());
  const told = found.cells.map((cell, i) => ({ words: `${names[i + 1]} ${cell.text}`, has: cell.y !== null }));
  const some = told.some((each) => each.has);
  const values = told.filter((each) => each.has || !some).map((each) => each.words).join("; ");
  const words = `${names[0]} ${found.name}: ${values}`;
  const field = plot.querySelector(".plot-field");
  field.setAttribute("aria-valuenow", String(at + 1));
  field.setAttribute("aria-valuetext", words);
  plot.at = at;
  if (!drawn) return;
  plot.querySelector(".plot-values").textContent = words;
  plot.querySelector('tr[aria-current="true"]')?.removeAttribute("aria-current");
  found.row.setAttribute("aria-current", "true");
  mark(plot, field.querySelector("svg"), found);
}

function mark(plot, svg, found) {
  svg.querySelector(".plot-marks")?.remove();
  const marks = svg.appendChild(document.createElementNS(SVG, "g"));
  marks.setAttribute("class", "plot-marks");
  const line = marks.appendChild(document.createElementNS(SVG, "line"));
  const { top, bottom } = plot.dataset;
  for (const [name, value] of [["x1", found.x], ["x2", found.x], ["y1", top], ["y2", bottom], ["class", "plot-cursor"]]) {
    line.setAttribute(name, value);
  }
  for (const cell of found.cells) {
    if (cell.y === null) continue;
    const point = marks.appendChild(document.createElementNS(SVG, "circle"));
    for (const [name, value] of [["cx", found.x], ["cy", cell.y], ["r", 4], ["class", "plot-point"]]) {
      point.setAttribute(name, value);
    }
  }
}

function nearest(plot, svg, event) {
  const box = svg.getBoundingClientRect();
  const scale = svg.viewBox.baseVal.width / box.width;
  const x = (event.clientX - box.left) * scale;
  const y = (event.clientY - box.top) * scale;
  let best = 0;
  let least = Infinity;
  rowsOf(plot).forEach((row, i) => {
    const heights = row.cells.filter((cell) => cell.y !== null).map((cell) => Math.abs(cell.y - y));
    // Where two rows stand at one place, the curve's jump, the nearer height decides.
    const away = Math.abs(row.x - x) + 0.05 * Math.min(...heights, 1000);
    if (away < least) [least, best] = [away, i];
  });
  return best;
}

function pointed(event) {
  const field = event.target.closest?.(".plot-field[role]");
  if (!field) return;
  const plot = field.closest(".plot");
  tell(plot, nearest(plot, field.querySelector("svg"), event));
}

document.addEventListener("pointermove", pointed);
document.addEventListener("pointerdown", pointed);
document.addEventListener("keydown", (event) => {
  const field = event.target.closest?.(".plot-field[role]");
  if (!field || event.altKey || event.ctrlKey || event.metaKey) return;
  const plot = field.closest(".plot");
  const last = rowsOf(plot).length - 1;
  const to = {
    ArrowRight: plot.at + 1, ArrowUp: plot.at + 1, ArrowLeft: plot.at - 1, ArrowDown: plot.at - 1,
    PageUp: plot.at + 10, PageDown: plot.at - 10, Home: 0, End: last,
  }[event.key];
  if (to === undefined) return;
  event.preventDefault();
  tell(plot, to);
});
document.addEventListener("htmx:load", (event) => dress(event.target.parentElement ?? document));
dress(document);
