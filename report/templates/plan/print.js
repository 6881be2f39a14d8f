// On paper: all of it, as fine as one sheet asks for, in the colours of paper.
const onPaper = () => {
  colours = { ...styles() };
  const row = Math.max(1.2, Math.min(16, 1250 / data.rows.length));
  // A small room is drawn narrower, so that its names come out larger on the sheet.
  const [width, height] = [data.rows.length > 60 ? 1500 : 1050, HEAD + data.rows.length * row];
  const gutter = row >= 9 ? 100 : 24;
  canvas.width = width * 2;
  canvas.height = height * 2;
  canvas.style.width = "100%";
  canvas.style.height = "auto";
  [tiles, laid] = [new Map(), null];
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
  [tiles, laid] = [new Map(), null];
  measure();
};
addEventListener("beforeprint", onPaper);
addEventListener("afterprint", onScreen);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", onScreen);
new ResizeObserver(() => { if (view.paper === null && box.clientWidth !== view.width) measure(); }).observe(box);
measure();
