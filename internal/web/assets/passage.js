// The page of a passage: the surface in space, coloured by area, velocity or wall left, and the section that the slider stands at.
import { scene } from "./passage_scene.js";
import { sendMesh } from "./passage_mesh.js";
import { stations } from "./stations.js";

// cividis, as the server has it: told apart with every kind of colour vision.
const stops = [[0, 34, 78], [53, 69, 108], [102, 105, 112], [148, 142, 119], [200, 184, 102], [253, 231, 55]];

function ramp(share) {
  const x = Math.min(Math.max(share, 0), 1) * (stops.length - 1);
  const i = Math.min(Math.floor(x), stops.length - 2);
  return stops[i].map((c, k) => (c * (1 - (x - i)) + stops[i + 1][k] * (x - i)) / 255);
}

// at reads a curve at a place, straight between its points.
function at(xs, ys, x) {
  let hi = xs.findIndex((v) => v >= x);
  if (hi < 0) hi = xs.length - 1;
  if (hi === 0) return ys[0];
  const w = Math.min((x - xs[hi - 1]) / (xs[hi] - xs[hi - 1]), 1);
  return ys[hi - 1] * (1 - w) + ys[hi] * w;
}

function show(value, digits) {
  return value.toFixed(digits).replace("-", "−");
}

function looking(root) {
  const data = JSON.parse(root.querySelector("[data-view]").textContent);
  const u = data.units;
  const kinds = {
    area: { values: data.profile.area_mm2, per: u.area_per_mm2, unit: u.Area, digits: u.Area === "mm²" ? 0 : 3 },
    speed: { values: data.profile.velocity_m_s, per: u.speed_per_m_s, unit: u.Speed, digits: 0 },
    wall: { values: data.profile.wall_mm, per: u.length_per_mm, unit: u.Length, digits: u.Length === "mm" ? 1 : 3 },
  };
  const note = root.querySelector(".scene-note");
  const view = scene(root.querySelector("canvas"), note);
  const slider = root.querySelector("[data-slider]");
  const outline = root.querySelector(".outline");
  const facts = root.querySelector(".cut-facts");

  function colour(name) {
    const k = kinds[name];
    const lo = Math.min(...k.values), hi = Math.max(...k.values);
    const flat = hi - lo < 1e-9 * Math.abs(hi);
    root.querySelector("[data-ramp-lo]").textContent = show(lo * k.per, k.digits);
    root.querySelector("[data-ramp-hi]").textContent = `${show(hi * k.per, k.digits)} ${k.unit}`;
    view?.colour((s) => ramp(flat ? 0.5 : (at(data.profile.s_mm, k.values, s * 1000) - lo) / (hi - lo)));
    for (const b of root.querySelectorAll("[data-colour]")) b.setAttribute("aria-pressed", String(b.dataset.colour === name));
  }

  let reach = 1;
  for (const s of data.stations) for (const o of [s.outline_mm, s.before_mm ?? []]) for (const p of o) reach = Math.max(reach, Math.abs(p[0]), Math.abs(p[1]));
  reach *= 1.12;
  outline.setAttribute("viewBox", `${-reach} ${-reach} ${2 * reach} ${2 * reach + reach * 0.22}`);
  const path = (points) => `M${points.map((p) => `${p[0]} ${-p[1]}`).join("L")}Z`;

  function cut(i) {
    const s = data.stations[i];
    const bar = u.Length === "in" ? 25.4 : 10;
    const low = reach * 1.12;
    outline.innerHTML = `${s.before_mm ? `<path class="was" d="${path(s.before_mm)}"/>` : ""}<path class="${s.outline_known ? "is" : "is guess"}" d="${path(s.outline_mm)}"/>` +
      `<path class="bar-line" d="M${-bar / 2} ${low}h${bar}m0 ${-reach * 0.03}v${reach * 0.06}m${-bar} 0v${-reach * 0.06}"/>` +
      `<text x="${bar / 2 + reach * 0.05}" y="${low + reach * 0.03}" font-size="${reach * 0.09}">${u.Length === "in" ? "1 in" : "10 mm"}</text>`;
    const speed = kinds.speed.values?.length ? at(data.profile.s_mm, kinds.speed.values, s.s_mm) * u.speed_per_m_s : null;
    const rows = [
      ["Section", `${i + 1} of ${data.stations.length}`],
      ["Along", `${show(s.s_mm * u.length_per_mm, u.Length === "mm" ? 1 : 3)} ${u.Length}`],
      ["Area", `${show(s.area_mm2 * u.area_per_mm2, kinds.area.digits)} ${u.Area}${s.outline_known ? "" : ", outline not known"}`],
      ["Hydraulic diameter", `${show(s.hydraulic_mm * u.length_per_mm, u.Length === "mm" ? 1 : 3)} ${u.Length}`],
      ["Velocity", speed === null ? "–" : `${show(speed, 1)} ${u.Speed}`],
      ["Wall left", s.wall_mm > 0 ? `${show(s.wall_mm * u.length_per_mm, u.Length === "mm" ? 2 : 4)} ${u.Length}${s.wall_mm < data.least_wall_mm ? ", below the least wall" : ""}` : "not measured"],
    ];
    facts.replaceChildren(...rows.map(([name, value]) => {
      const row = document.createElement("div"), dt = document.createElement("dt"), dd = document.createElement("dd");
      dt.textContent = name;
      dd.textContent = value;
      row.append(dt, dd);
      return row;
    }));
    slider.setAttribute("aria-valuetext", `${rows[1][1]}, ${rows[2][1]}`);
    view?.ring(s.ring_m, s.outline_mm);
  }

  slider.max = data.stations.length - 1;
  slider.value = Math.floor(data.stations.length / 2);
  slider.addEventListener("input", () => cut(Number(slider.value)));
  for (const b of root.querySelectorAll("[data-colour]")) {
    const has = kinds[b.dataset.colour].values?.length > 0;
    b.disabled = !has;
    if (!has) b.title = b.dataset.colour === "wall" ? "The wall was not measured at every station" : "There is no ledger to take it from";
    b.addEventListener("click", () => colour(b.dataset.colour));
  }
  cut(Number(slider.value));
  colour("area");
  view?.load(data.view).then(() => {
    cut(Number(slider.value));
    colour(root.querySelector('[data-colour][aria-pressed="true"]').dataset.colour);
    note.hidden = true;
    // The next frame is being drawn when the first call comes, and is drawn when the second does.
    requestAnimationFrame(() => requestAnimationFrame(() => { root.dataset.drawn = String(Math.round(performance.now())); }));
  }).catch((err) => { note.textContent = `The surface could not be drawn: ${err.message}`; });
}

for (const root of document.querySelectorAll("[data-passage]")) looking(root);
for (const form of document.querySelectorAll("[data-mesh]")) sendMesh(form);
for (const form of document.querySelectorAll("[data-stations]")) stations(form);
