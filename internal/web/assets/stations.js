// The table of stations: what is typed stands in the text that is sent, so that pasted text and the table are one thing. The server says
// of every line what its area is and what is wrong with it; nothing is worked out here.
import { fields, numbers, parse, pasted, shapes, units, write } from "./stations_text.js";

const words = { s: "Along", diameter: "Diameter", width: "Width", height: "Height", corner: "Corner", area: "Area", perimeter: "Perimeter", wall: "Wall", bend: "Turn, °" };

export function stations(form) {
  const text = form.querySelector("textarea[name=text]"), field = text.closest(".field");
  const box = form.querySelector("[data-stations-table]"), body = box.querySelector("tbody"), note = box.querySelector("[data-note]");
  const unit = box.querySelector("[data-unit]"), back = box.querySelector("[data-back]");
  let sheet = null, removed = null, waiting = 0, asking = null, touched = false;

  // The text stays at hand, folded away.
  const fold = document.createElement("details"), summary = document.createElement("summary");
  fold.className = "field-wide";
  summary.textContent = "As text, to paste or copy";
  field.before(fold);
  fold.append(summary, field);
  // Text that is no table of stations has its table put away, so that no length of an earlier one stands below it.
  const hint = document.createElement("p");
  hint.className = "quiet";
  hint.setAttribute("role", "status");
  hint.textContent = "This is no table of stations yet: the first line names the columns with their units, such as s_mm,shape,diameter_mm.";
  hint.hidden = true;
  fold.after(hint);

  function take(value) {
    const read = parse(value);
    box.hidden = !read;
    fold.open = !read; // what is no table of stations stays text
    hint.hidden = Boolean(read);
    if (!read) return false;
    sheet = read;
    unit.value = sheet.unit;
    draw();
    return true;
  }

  function changed() {
    touched = true;
    text.value = write(sheet);
    ask();
  }

  function cell(row, name, label) {
    const wrap = document.createElement("label"), said = document.createElement("span"), input = document.createElement("input");
    said.textContent = label;
    input.value = row[name] ?? "";
    input.dataset.name = name;
    input.inputMode = "decimal";
    input.autocomplete = "off";
    input.addEventListener("input", () => {
      row[name] = input.value.trim();
      changed();
    });
    wrap.className = "cell";
    wrap.append(said, input);
    return wrap;
  }

  function button(sign, label, act) {
    const b = document.createElement("button");
    b.type = "button";
    b.className = "small-button";
    b.textContent = sign;
    b.title = label;
    b.addEventListener("click", act);
    return b;
  }

  function line(row, i) {
    const tr = document.createElement("tr");
    const td = (name, ...parts) => {
      const d = document.createElement("td");
      d.className = name;
      d.append(...parts);
      tr.append(d);
      return d;
    };
    td("c-at", cell(row, "s", words.s));
    const pick = document.createElement("select"), named = document.createElement("label"), said = document.createElement("span");
    for (const [value, s] of Object.entries(shapes)) pick.add(new Option(s.word, value, false, value === row.shape));
    if (!shapes[row.shape]) pick.add(new Option(row.shape || "choose", row.shape, true, true));
    pick.dataset.name = "shape";
    pick.addEventListener("change", () => {
      row.shape = pick.value;
      draw();
      body.rows[i]?.querySelector("[data-name=shape]")?.focus();
      changed();
    });
    said.textContent = "Shape";
    named.className = "cell";
    named.append(said, pick);
    td("c-shape", named);
    td("c-size", ...(shapes[row.shape]?.needs ?? []).map((n) => cell(row, n, words[n])));
    td("c-wall", cell(row, "wall", words.wall));
    td("c-turn", cell(row, "bend", words.bend));
    td("c-live").innerHTML = `<svg viewBox="-1 -1 2 2" role="img" aria-label="Outline"><path d=""/></svg><output></output>`;
    td("c-deeds", button("+", `Add a station below station ${i + 1}`, () => insert(i + 1)), button("×", `Take station ${i + 1} out`, () => takeOut(i)));
    for (const b of tr.querySelectorAll(".small-button")) b.setAttribute("aria-label", b.title);
    const wrong = document.createElement("td");
    wrong.className = "wrong";
    wrong.id = `station-wrong-${i}`;
    wrong.colSpan = 7;
    wrong.hidden = true;
    tr.append(wrong);
    return tr;
  }

  function draw() {
    body.replaceChildren(...sheet.rows.map(line));
    ask();
  }

  function focus(i, name) {
    const tr = body.rows[Math.min(Math.max(i, 0), body.rows.length - 1)];
    const to = tr?.querySelector(`[data-name="${name}"]`) ?? tr?.querySelector(".c-size input, [data-name=s]");
    to?.focus();
    to?.select?.();
  }

  function insert(i, name = "s") {
    const near = sheet.rows[i - 1] ?? sheet.rows[i];
    sheet.rows.splice(i, 0, { shape: near?.shape ?? "round", extra: {} });
    draw();
    changed();
    focus(i, name);
  }

  function takeOut(i) {
    removed = { i, row: sheet.rows[i] };
    sheet.rows.splice(i, 1);
    draw();
    changed();
    back.hidden = false;
    back.focus();
  }

  back.addEventListener("click", () => {
    sheet.rows.splice(removed.i, 0, removed.row);
    back.hidden = true;
    draw();
    changed();
    focus(removed.i, "s");
  });
  box.querySelector("[data-add]").addEventListener("click", () => insert(sheet.rows.length));
  unit.addEventListener("change", () => {
    numbers(sheet, unit.value);
    draw();
    changed();
  });
  text.addEventListener("input", () => {
    touched = true;
    clearTimeout(waiting);
    waiting = setTimeout(() => take(text.value), 300);
  });

  body.addEventListener("keydown", (e) => {
    const name = e.target.dataset.name, tr = e.target.closest("tr");
    if (!name || !tr || e.isComposing) return;
    const i = [...body.rows].indexOf(tr);
    const step = { ArrowUp: -1, ArrowDown: 1, Enter: 1 }[e.key];
    if (e.key === "Enter" && (e.ctrlKey || e.metaKey)) insert(i + 1, name);
    else if ((e.key === "Delete" || e.key === "Backspace") && (e.ctrlKey || e.metaKey) && sheet.rows.length > 1) takeOut(i);
    else if (e.key === "Enter" && i === body.rows.length - 1) insert(i + 1, name);
    else if (step && !(e.target.matches("select") && e.key !== "Enter")) focus(i + step, name);
    else return;
    e.preventDefault();
  });
  body.addEventListener("paste", (e) => {
    const name = e.target.dataset.name, tr = e.target.closest("tr"), clip = e.clipboardData.getData("text");
    if (!name || !/[\n\t]|,.*,/.test(clip.trim())) return;
    e.preventDefault();
    const whole = parse(clip);
    if (whole) {
      sheet = whole;
      unit.value = sheet.unit;
    } else pasted(sheet, [...body.rows].indexOf(tr), name, clip);
    draw();
    changed();
  });

  // ask lets the server read what is typed.
  function ask() {
    clearTimeout(waiting);
    waiting = setTimeout(async () => {
      asking?.abort();
      asking = new AbortController();
      try {
        const answer = await fetch(`${form.getAttribute("action")}/try`, { method: "POST", body: write(sheet), headers: { "Content-Type": "text/csv" }, signal: asking.signal });
        if (answer.ok) show(await answer.json());
      } catch (err) {
        if (err.name !== "AbortError") note.textContent = "Runnel does not answer; what is typed is not lost.";
      }
    }, 120);
  }

  function show(answer) {
    const first = sheet.comments.length + 2; // the line of the first station, counted from 1
    const size = units[sheet.unit], area = `${sheet.unit}²`;
    const digits = sheet.unit === "mm" ? 1 : 3;
    let most = 1e-9;
    for (const r of answer.rows) for (const p of r.outline_m) most = Math.max(most, Math.hypot(...p));
    const known = new Map(answer.rows.map((r) => [r.line - first, r]));
    [...body.rows].forEach((tr, i) => {
      const r = known.get(i), path = tr.querySelector("path"), out = tr.querySelector("output");
      path.setAttribute("d", r?.outline_m.length ? `M${r.outline_m.map((p) => `${(p[0] / most).toFixed(4)} ${(-p[1] / most).toFixed(4)}`).join("L")}Z` : "");
      out.textContent = r ? `${(r.area_m2 / size / size).toFixed(digits)} ${area}` : "–";
      for (const el of tr.querySelectorAll("[aria-invalid]")) {
        el.removeAttribute("aria-invalid");
        el.removeAttribute("aria-describedby");
      }
      tr.querySelector(".wrong").hidden = true;
    });
    box.dataset.read = String(Number(box.dataset.read ?? 0) + 1);
    if (!touched && sheet.rows.length === 1) { // nothing typed yet is nothing wrong yet
      note.textContent = "Type the first station, at the entry.";
      return;
    }
    const loose = [];
    for (const w of answer.wrong) {
      const tr = body.rows[w.line - first];
      const said = `${capital(w.found)}: ${w.write}.`;
      if (!tr) {
        loose.push(said);
        continue;
      }
      const place = tr.querySelector(".wrong");
      place.textContent = place.hidden ? said : `${place.textContent} ${said}`;
      place.hidden = false;
      const stem = fields.find((f) => w.column === f || w.column.startsWith(`${f}_`) && !fields.some((g) => g.length > f.length && w.column.startsWith(`${g}_`)));
      const input = tr.querySelector(`[data-name="${stem}"]`);
      input?.setAttribute("aria-invalid", "true");
      input?.setAttribute("aria-describedby", place.id);
    }
    if (answer.nothing) loose.push(`${capital(answer.nothing)}.`);
    note.textContent = loose.length > 0 ? loose.join(" ")
      : answer.wrong.length > 0 ? `${answer.wrong.length === 1 ? "One place has" : `${answer.wrong.length} places have`} to be mended.`
        : `${(answer.length_m / size).toFixed(digits)} ${sheet.unit} long, ${(answer.volume_m3 / size ** 3 / (sheet.unit === "mm" ? 1000 : 1)).toFixed(1)} ${sheet.unit === "mm" ? "cm" : sheet.unit}³.`;
  }

  if (take(text.value)) form.dataset.ready = "yes";
}

function capital(s) {
  return s.charAt(0).toUpperCase() + s.slice(1);
}
