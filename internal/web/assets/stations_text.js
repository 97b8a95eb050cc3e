// Stations as text and as rows. Cells are kept as they were typed; only a change of unit turns numbers.
export const units = { mm: 1e-3, in: 0.0254 };
const more = { cm: 1e-2, m: 1, ft: 0.3048 };
export const shapes = {
  round: { word: "Round", needs: ["diameter"] },
  rectangle: { word: "Rectangle", needs: ["width", "height", "corner"] },
  ellipse: { word: "Ellipse", needs: ["width", "height"] },
  d: { word: "D", needs: ["width", "height", "corner"] },
  area: { word: "Area only", needs: ["area", "perimeter"] },
};
export const fields = ["s", "shape", "diameter", "width", "height", "corner", "area", "perimeter", "wall", "bend_radius", "bend"];
const long = ["s", "diameter", "width", "height", "corner", "perimeter", "wall", "bend_radius"];

// columns reads the names of columns: a stem and the size of its unit; null when they are none of stations.
function columns(line) {
  const out = line.split(/[,\t;]/).map((n) => n.trim().replace(/^\ufeff/, "")).map((name) => {
    if (name === "shape") return { name, stem: "shape" };
    const cut = name.lastIndexOf("_"), stem = name.slice(0, cut), unit = name.slice(cut + 1);
    const size = { ...units, ...more };
    if (long.includes(stem) && size[unit]) return { name, stem, unit, size: size[unit] };
    if (stem === "area" && unit.endsWith("2") && size[unit.slice(0, -1)]) return { name, stem, unit, size: size[unit.slice(0, -1)] ** 2 };
    if (stem === "bend" && unit === "deg") return { name, stem, unit, size: 1 };
    return { name };
  });
  return out.some((c) => c.stem === "s") && out.some((c) => c.stem === "shape") ? out : null;
}

// parse reads a text of stations; null when it is none, or is written in a way that only the server reads.
export function parse(text) {
  if (text.includes('"')) return null;
  const lines = text.split(/\r?\n/).filter((l) => l.trim() !== "");
  const comments = lines.filter((l) => l.startsWith("#")), rest = lines.filter((l) => !l.startsWith("#"));
  const head = columns(rest[0] ?? "");
  if (!head) return null;
  const unit = head.find((c) => c.stem === "s").unit === "in" ? "in" : "mm";
  const rows = rest.slice(1).map((l) => {
    const row = { shape: "", extra: {} };
    l.split(/[,\t;]/).forEach((value, i) => {
      const c = head[i];
      if (!c) {
        row.tail = `${row.tail ?? ""},${value}`; // too many cells: the server says so
        return;
      }
      value = value.trim();
      if (!c.stem) row.extra[c.name] = value;
      else if (c.stem === "shape") row.shape = value.toLowerCase();
      else row[c.stem] = c.stem === "bend" ? value : turned(value, c.size / units[unit] ** (c.stem === "area" ? 2 : 1));
    });
    return row;
  });
  return { comments, unit, rows, extra: head.filter((c) => !c.stem).map((c) => c.name), had: head.map((c) => c.stem).filter(Boolean) };
}

// turned is a typed number times a factor; what is no number stays as it is, for the server to say so.
function turned(value, factor) {
  if (!value || Math.abs(factor - 1) < 1e-12 || !Number.isFinite(Number(value))) return value;
  return String(Number((Number(value) * factor).toPrecision(7)));
}

// numbers turns all lengths of a sheet into another unit.
export function numbers(sheet, unit) {
  const k = units[sheet.unit] / units[unit];
  for (const row of sheet.rows) {
    for (const n of long) row[n] = turned(row[n], k);
    row.area = turned(row.area, k * k);
  }
  sheet.unit = unit;
}

// write makes the text of a sheet: the columns it had, and those its shapes need.
export function write(sheet) {
  const uses = (f) => f === "s" || f === "shape" || sheet.had.includes(f) || sheet.rows.some((r) => r[f] || shapes[r.shape]?.needs.includes(f) && f !== "corner");
  const used = fields.filter(uses);
  const name = (f) => (f === "shape" ? f : f === "bend" ? "bend_deg" : f === "area" ? `area_${sheet.unit}2` : `${f}_${sheet.unit}`);
  const clean = (v) => (v ?? "").replace(/[,;\t\n]/g, "."); // a decimal comma would begin a new cell
  const body = sheet.rows.map((r) => [...used.map((f) => clean(r[f])), ...sheet.extra.map((n) => r.extra[n] ?? "")].join(",") + (r.tail ?? ""));
  return [...sheet.comments, [...used.map(name), ...sheet.extra].join(","), ...body].join("\n") + "\n";
}

// pasted puts cells of a spreadsheet into a sheet, from a place on: downward, and along the fields of each row.
export function pasted(sheet, at, name, text) {
  text.replace(/\s+$/, "").split(/\r?\n/).forEach((line, k) => {
    while (sheet.rows.length <= at + k) sheet.rows.push({ shape: sheet.rows.at(-1)?.shape ?? "round", extra: {} });
    const row = sheet.rows[at + k], values = line.split(line.includes("\t") ? "\t" : /[,;]/).map((v) => v.trim());
    const word = values.findIndex((v) => shapes[v.toLowerCase()]);
    if (word >= 0) row.shape = values[word].toLowerCase();
    const order = ["s", "shape", ...(shapes[row.shape]?.needs ?? []), "wall", "bend"];
    const from = Math.max(order.indexOf(name), 0);
    values.forEach((v, i) => {
      const f = order[from + i];
      if (f === "shape") row.shape = v.toLowerCase();
      else if (f) row[f] = v;
    });
  });
}
