// Pictures of mould slices: dragging along a bar sets the scale, and the traced outline can be dragged.
const svgNS = "http://www.w3.org/2000/svg";

for (const root of document.querySelectorAll("[data-slice]")) {
  const svg = root.querySelector("svg");
  const place = (e) => {
    const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return [p.x, p.y];
  };
  bar(root, svg, place);
  const form = root.querySelector("[data-outline]");
  if (form) outline(root, svg, form, place);
  root.dataset.ready = "yes";
}

function bar(root, svg, place) {
  const button = root.querySelector("[data-drag-bar]"), length = root.querySelector("[data-bar]"), scale = root.querySelector("[data-scale]");
  let from = null, line = null, on = false;
  const write = () => {
    if (!line) return;
    const at = (n) => Number(line.getAttribute(n)).toFixed(1);
    scale.value = `bar ${at("x1")},${at("y1")} ${at("x2")},${at("y2")} ${length.value.trim() || length.placeholder}`;
  };
  button.addEventListener("click", () => {
    on = !on;
    button.setAttribute("aria-pressed", String(on));
    svg.classList.toggle("drawing", on);
  });
  length.addEventListener("input", write);
  svg.addEventListener("pointerdown", (e) => {
    if (!on) return;
    e.preventDefault();
    svg.setPointerCapture(e.pointerId);
    from = place(e);
    line?.remove();
    line = document.createElementNS(svgNS, "line");
    line.setAttribute("class", "scale-bar");
    for (const [n, v] of [["x1", from[0]], ["y1", from[1]], ["x2", from[0]], ["y2", from[1]]]) line.setAttribute(n, v);
    svg.append(line);
  });
  svg.addEventListener("pointermove", (e) => {
    if (!from) return;
    const [x, y] = place(e);
    line.setAttribute("x2", x);
    line.setAttribute("y2", y);
  });
  svg.addEventListener("pointerup", () => {
    if (!from) return;
    from = null;
    write();
    on = false;
    button.setAttribute("aria-pressed", "false");
    svg.classList.remove("drawing");
    length.focus();
  });
}

// outline gives the traced outline handles; a handle takes its neighbours with it, less the farther they are.
function outline(root, svg, form, place) {
  const field = form.querySelector("[name=outline]"), start = form.querySelector("[data-drag-outline]"), keep = form.querySelector("button:not([type=button])");
  const line = svg.querySelector(".traced"), points = JSON.parse(field.value) ?? [];
  const step = Math.max(1, Math.round(points.length / 28));
  const radius = svg.viewBox.baseVal.width / 90;
  const area = root.querySelector("[data-live-area]"), unit = root.dataset.areaUnit, size = Number(root.dataset.pixel) / (unit === "in²" ? 0.0254 : 1e-3);
  let handles = [], held = -1, before = null, from = null, moved = false;
  const halo = document.createElementNS(svgNS, "polygon");
  const grip = (e) => {
    const at = place(e);
    const far = (h) => Math.hypot(points[h.i][0] - at[0], points[h.i][1] - at[1]);
    const near = handles.reduce((a, h) => (far(h) < far(a) ? h : a));
    e.preventDefault();
    e.stopPropagation();
    near.dot.focus({ preventScroll: true }); // the picture stays under the finger
    svg.setPointerCapture(e.pointerId);
    held = near.i;
    from = at;
    before = points.map((p) => [...p]);
  };
  const gripped = (e) => !svg.classList.contains("drawing") && (e.target === halo || handles.some((h) => h.dot === e.target)); // not while a bar is dragged along
  svg.addEventListener("pointerdown", (e) => {
    if (gripped(e)) grip(e);
  }, true);
  // touch-action on parts of a picture does not keep the page from scrolling along in every browser; this does.
  svg.addEventListener("touchstart", (e) => {
    if (gripped(e)) e.preventDefault();
  }, { passive: false });
  svg.addEventListener("pointermove", (e) => {
    if (held < 0 || !from) return;
    const [x, y] = place(e);
    shift(x - from[0], y - from[1]);
  });
  for (const end of ["pointerup", "pointercancel"]) svg.addEventListener(end, () => { held = -1; });
  // follow shows the area of the outline as it is drawn (Gauss's formula); what is kept is worked out by the server, with its uncertainty.
  const follow = () => {
    if (!area || !(size > 0) || !moved) return;
    let twice = 0;
    points.forEach((p, i) => {
      const q = points[(i + 1) % points.length];
      twice += p[0] * q[1] - q[0] * p[1];
    });
    area.textContent = `${(Math.abs(twice) / 2 * size * size).toFixed(unit === "in²" ? 3 : 1)} ${unit} as drawn, not kept yet`;
  };
  const draw = () => {
    for (const l of [line, halo]) l.setAttribute("points", points.map((p) => p.map((v) => v.toFixed(1)).join(",")).join(" "));
    for (const h of handles) {
      h.dot.setAttribute("cx", points[h.i][0]);
      h.dot.setAttribute("cy", points[h.i][1]);
    }
    follow();
    field.value = JSON.stringify(points.map((p) => p.map((v) => Math.round(v * 100) / 100)));
  };
  const shift = (dx, dy) => {
    moved = true;
    for (let k = -step; k <= step; k++) {
      const j = (held + k + points.length) % points.length, w = 0.5 + 0.5 * Math.cos(Math.PI * k / (step + 1));
      points[j] = [before[j][0] + w * dx, before[j][1] + w * dy];
    }
    draw();
  };
  start.addEventListener("click", () => {
    start.hidden = true;
    keep.hidden = false;
    handles = [];
    // A finger is wider than a handle: all along the outline the nearest handle is taken, and the page stays still there.
    halo.setAttribute("class", "halo");
    svg.append(halo);
    for (let i = 0; i < points.length; i += step) {
      const dot = document.createElementNS(svgNS, "circle");
      dot.setAttribute("class", "handle");
      dot.setAttribute("r", radius);
      dot.setAttribute("tabindex", "0");
      dot.setAttribute("aria-label", `Point ${handles.length + 1}`);
      dot.addEventListener("keydown", (e) => {
        const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
        if (!by) return;
        e.preventDefault();
        held = i;
        before = points.map((p) => [...p]);
        shift(...by);
        held = -1;
      });
      svg.append(dot);
      handles.push({ dot, i });
    }
    draw();
  });
}
