// One cycle as a moving picture: the passage coloured by pressure, the pressure along it, valves and piston.
const NS = "http://www.w3.org/2000/svg";

function make(parent, name, attributes, text) {
  const el = document.createElementNS(NS, name);
  for (const [k, v] of Object.entries(attributes)) el.setAttribute(k, v);
  if (text) el.textContent = text;
  parent.append(el);
  return el;
}

export function player(figure, at) {
  const f = JSON.parse(figure.dataset.frames);
  const view = figure.querySelector("[data-view]");
  const slide = figure.querySelector("[data-at]");
  const play = figure.querySelector("[data-play]");
  const say = figure.querySelector("[data-say]");
  const draw = scene(view, f);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  let timer = 0;

  const show = () => {
    const k = +slide.value;
    draw(k);
    const p = f.pressure_10pa[k];
    const open = [f.lift_in[k] > 0 ? `intake open ${length(f, f.lift_in[k] * f.lift_unit_m)}` : "", f.lift_out[k] > 0 ? `exhaust open ${length(f, f.lift_out[k] * f.lift_unit_m)}` : ""].filter(Boolean);
    say.textContent = `${String(f.angle_deg[k]).replace("-", "−")}° · at the valve ${pressure(f, p[p.length - 1] * 10)} over the room · cylinder ${pressure(f, f.cylinder_kpa[k] * 1e3, 0)} · ${open.join(", ") || "valves closed"}`;
    slide.setAttribute("aria-valuetext", `${f.angle_deg[k]} degrees`);
  };
  const stop = () => {
    clearInterval(timer);
    timer = 0;
    play.textContent = "Play";
    play.setAttribute("aria-pressed", "false");
  };
  const start = () => {
    if (timer) return;
    play.textContent = "Pause";
    play.setAttribute("aria-pressed", "true");
    // A cycle takes nine seconds; for those who want little motion it goes in still pictures, one a second.
    const [every, by] = calm.matches ? [1000, 5] : [50, 1];
    timer = setInterval(() => {
      if (!figure.isConnected) {
        stop();
        return;
      }
      slide.value = (+slide.value + by) % f.angle_deg.length;
      show();
    }, every);
  };
  play.addEventListener("click", () => (timer ? stop() : start()));
  slide.addEventListener("input", () => {
    stop();
    show();
  });
  slide.max = f.angle_deg.length - 1;
  slide.value = at ?? f.intake_flow_g_s.indexOf(Math.max(...f.intake_flow_g_s)); // begin where it draws most
  show();
}

// What is shown is written in the reader's units.
const written = (v, decimals) => v.toFixed(decimals).replace("-", "−");
const pressure = (f, pa, decimals = f.reader.pressure_decimals) => `${written(pa * f.reader.pressure_per_pa, decimals)} ${f.reader.pressure_unit}`;
const length = (f, m) => `${written(m * f.reader.length_per_m, f.reader.length_decimals)} ${f.reader.length_unit}`;

// scene draws what stands still and returns what draws an instant.
function scene(view, f) {
  const narrow = view.clientWidth < 560;
  const w = narrow ? 380 : 860;
  const left = 46, right = narrow ? 96 : 170, pipeMid = 62, half = 34, curveTop = 128, curveHeight = 110;
  const height = curveTop + curveHeight + 34;
  const long = w - left - right;
  const svg = make(view, "svg", { viewBox: `0 0 ${w} ${height}`, role: "img", "aria-label": "The intake passage over one cycle, mouth left, valve and cylinder right. Copper is pressure over the room's, teal under it." });
  const x = (s) => left + s * long;
  const cells = f.bore.map((b, i) => make(svg, "rect", { "shape-rendering": "crispEdges", x: x(f.place[i]).toFixed(2), width: (x(f.place[i + 1]) - x(f.place[i])).toFixed(2), y: (pipeMid - half * b).toFixed(1), height: (2 * half * b).toFixed(1) }));
  const mid = f.bore.map((b, i) => [(x(f.place[i]) + x(f.place[i + 1])) / 2, b]);
  const outline = [[x(0), f.bore[0]], ...mid, [x(1), f.bore.at(-1)]];
  for (const side of [-1, 1]) make(svg, "path", { class: "wall", d: "M" + outline.map(([at, b]) => `${at.toFixed(1)} ${(pipeMid + side * half * b).toFixed(1)}`).join("L") });
  make(svg, "text", { x: left, y: 16, class: "name" }, "Mouth");
  make(svg, "text", { x: x(1), y: 16, class: "name", "text-anchor": "end" }, "Valve");

  // Pressure along the passage.
  const per = 10 * f.reader.pressure_per_pa; // of what the frames count in
  const span = nice(f.swing_10pa * per);
  const y = (p10) => curveTop + curveHeight / 2 - (p10 * per / span) * (curveHeight / 2);
  for (const v of [-span, 0, span]) {
    make(svg, "line", { class: "zero", x1: left, x2: x(1), y1: y(v / per), y2: y(v / per) });
    make(svg, "text", { x: left - 6, y: y(v / per) + 4, "text-anchor": "end" }, (v > 0 ? "+" : "") + String(v).replace("-", "−"));
  }
  make(svg, "text", { x: left, y: height - 8 }, `${f.reader.pressure_unit} over the room`);
  make(svg, "text", { x: x(1), y: height - 8, "text-anchor": "end" }, length(f, f.passage_length_m));
  const line = make(svg, "path", { class: "press" });

  // Cylinder, valves and piston.
  const cx = x(1) + right / 2 + 4, cw = narrow ? 62 : 92, top = 74, deep = curveTop + curveHeight - top;
  make(svg, "path", { class: "wall", d: `M${cx - cw / 2} ${top + deep}V${top}H${cx + cw / 2}V${top + deep}` });
  const piston = make(svg, "rect", { class: "metal", x: cx - cw / 2 + 2, width: cw - 4, height: 22 });
  const valve = (kind, at) => {
    const g = make(svg, "g", { class: kind });
    make(g, "rect", { x: at - 1.6, y: top - 34, width: 3.2, height: 34 });
    make(g, "rect", { x: at - cw * 0.19, y: top - 4, width: cw * 0.38, height: 4 });
    return g;
  };
  const inlet = valve("valve-in", cx - cw * 0.23);
  const outlet = valve("valve-out", cx + cw * 0.23);
  const angle = make(svg, "text", { x: cx, y: height - 8, "text-anchor": "middle", class: "name" });
  make(svg, "text", { x: cx - cw * 0.23, y: top - 40, "text-anchor": "middle" }, "in");
  make(svg, "text", { x: cx + cw * 0.23, y: top - 40, "text-anchor": "middle" }, "out");

  return (k) => {
    const row = f.pressure_10pa[k];
    row.forEach((p, i) => {
      cells[i].setAttribute("class", p < 0 ? "under" : "over");
      cells[i].setAttribute("fill-opacity", Math.min(Math.abs(p) * per / span, 1).toFixed(2));
    });
    line.setAttribute("d", "M" + row.map((p, i) => `${mid[i][0].toFixed(1)} ${y(p).toFixed(1)}`).join("L"));
    piston.setAttribute("y", (top + 14 + f.piston[k] * (deep - 38)).toFixed(1));
    inlet.setAttribute("transform", `translate(0 ${(f.lift_in[k] * 13).toFixed(1)})`);
    outlet.setAttribute("transform", `translate(0 ${(f.lift_out[k] * 13).toFixed(1)})`);
    angle.textContent = `${String(f.angle_deg[k]).replace("-", "−")}°`;
  };
}

function nice(v) {
  const mag = 10 ** Math.floor(Math.log10(Math.max(v, 1e-3)));
  return [1, 2, 2.5, 5, 10].map((f) => f * mag).find((s) => s >= v) ?? 10 * mag;
}
