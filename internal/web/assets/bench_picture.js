// A picture of what has to be open and what has to be blanked for what is taken next.
const ns = "http://www.w3.org/2000/svg";

function el(name, attrs, text) {
  const e = document.createElementNS(ns, name);
  for (const [k, v] of Object.entries(attrs)) e.setAttribute(k, v);
  if (text !== undefined) e.textContent = text;
  return e;
}

export function picture(view, opening) {
  if (view.task === "check") return plate();
  if (view.task === "zero") return fan();
  const list = view.openings;
  const perRow = list.length > 8 ? Math.ceil(list.length / 2) : Math.max(list.length, 1);
  const rows = Math.ceil(list.length / perRow);
  const w = 60 * perRow + 20;
  const h = 76 * rows + 16;
  const svg = el("svg", { viewBox: `0 0 ${w} ${h}`, class: "pic", role: "img", "aria-label": label(view, opening) });
  svg.append(el("rect", { x: 2, y: 2, width: w - 4, height: h - 4, rx: 14, class: "pic-flange" }));
  list.forEach((o, i) => {
    const x = 40 + 60 * (i % perRow);
    const y = 36 + 76 * Math.floor(i / perRow);
    const g = el("g", { class: o.open ? "pic-open" : "pic-blank" });
    g.append(el("circle", { cx: x, cy: y, r: 22 }));
    if (o.open) {
      for (const dy of [-8, 0, 8]) g.append(el("path", { d: `M${x - 14} ${y + dy}q7 -5 14 0t14 0`, class: "pic-wave" }));
    } else {
      g.append(el("path", { d: `M${x - 9} ${y - 9}l18 18M${x + 9} ${y - 9}l-18 18`, class: "pic-cross" }));
    }
    g.append(el("text", { x, y: y + 40, class: "pic-name" }, o.name));
    svg.append(g);
  });
  return svg;
}

function label(view, opening) {
  const open = view.openings.filter((o) => o.open).map((o) => opening(o.name));
  return open.length ? `${open.join(", ")} open, the others blanked` : "every opening blanked";
}

function plate() {
  const svg = el("svg", { viewBox: "0 0 200 110", class: "pic", role: "img", "aria-label": "the check plate on the bench" });
  svg.append(el("rect", { x: 40, y: 8, width: 120, height: 94, rx: 8, class: "pic-flange" }));
  const g = el("g", { class: "pic-open" });
  g.append(el("circle", { cx: 100, cy: 55, r: 24 }));
  for (const dy of [-8, 0, 8]) g.append(el("path", { d: `M86 ${55 + dy}q7 -5 14 0t14 0`, class: "pic-wave" }));
  svg.append(g);
  for (const [x, y] of [[54, 22], [146, 22], [54, 88], [146, 88]]) svg.append(el("circle", { cx: x, cy: y, r: 5, class: "pic-bolt" }));
  return svg;
}

function fan() {
  const svg = el("svg", { viewBox: "0 0 200 110", class: "pic", role: "img", "aria-label": "blower off" });
  svg.append(el("circle", { cx: 100, cy: 55, r: 44, class: "pic-flange" }));
  for (const turn of [0, 120, 240]) {
    svg.append(el("path", { d: "M100 55c-4 -16 2 -32 16 -34c10 4 4 24 -16 34z", class: "pic-blade", transform: `rotate(${turn} 100 55)` }));
  }
  svg.append(el("path", { d: "M64 90L136 20", class: "pic-cross" }));
  return svg;
}

// setting is the set-up in words.
export function setting(view, words, opening) {
  if (view.task === "zero") return "Stop the blower and let the hoses breathe. What the sensors show now is taken off every reading.";
  if (view.task === "leakage") return `Blank every opening and hold a test pressure. Three pressures or more say how the leakage grows. Meter ${view.rig.meter}.`;
  if (view.task === "check") return `Put the check plate on: ${words.with("area", view.check_plate_m2)}. Meter ${view.rig.meter}.`;
  const r = view.rig;
  const parts = [r.round ? `${r.piece}, ${r.round.toLowerCase()}` : r.piece, `${r.entry} entry`, `meter ${r.meter}`, `hold ${words.with("pressure", r.test_pressure_pa)}`];
  if (r.blanked) parts.push(`blanked: ${r.blanked}`);
  if (r.fitted?.length) parts.push(`fitted: ${r.fitted.join(", ")}`);
  if (r.adaptor) parts.push(`adaptor: ${r.adaptor}`);
  if (r.lift_m > 0) parts.push(`lift ${words.with("length", r.lift_m)}`);
  return `${parts.join("; ")}.`;
}
