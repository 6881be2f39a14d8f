// Keyboard, wheel, mouse and fingers.
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
