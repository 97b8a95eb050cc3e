// The live bench: what comes by server-sent events is shown, and a touch is sent back.
import { Channel } from "./bench_channel.js";
import { Words } from "./bench_words.js";
import { setting, picture } from "./bench_picture.js";
import { Voice } from "./bench_voice.js";
import { plan } from "./bench_plan.js";

const main = document.querySelector(".bench");
const $ = (css) => document.querySelector(css);
const words = new Words(JSON.parse(main.dataset.styles));
const channel = new Channel($(".bench-channel canvas"), words);
const voice = new Voice(document);

// now is what the page knows; it can be looked at from outside as window.runnelBench.
const now = { shown: {}, late: [], view: null, estimate: null, needle: null, heard: 0, said: "", busy: false, wasSettled: false };

const stepTitles = { air: "Air", zero: "Zero", leakage: "Leakage", check: "Check plate", readings: "Readings" };
const opening = (name) => {
  if (!/^\d+$/.test(name)) return name;
  return { head: `port ${name}`, manifold: `runner ${name}` }[now.view?.rig.kind] ?? `opening ${name}`;
};
const capital = (s) => s.charAt(0).toUpperCase() + s.slice(1);

// What comes from the bench.
function listen() {
  const events = new EventSource("/bench/live");
  events.addEventListener("needles", (e) => {
    const list = JSON.parse(e.data);
    now.heard = performance.now();
    for (const n of list) channel.add(n);
    now.needle = hold(list[list.length - 1], now.needle);
    if (list.length < 5) now.late = [...now.late.slice(-1999), Date.now() - Date.parse(now.needle.at)]; // from frame to page [ms]
    needle();
  });
  events.addEventListener("estimate", (e) => {
    now.estimate = JSON.parse(e.data);
    now.shown = { ...Object.fromEntries(Object.entries(now.shown).slice(-20)), [now.estimate.seq]: now.estimate };
    channel.steady(now.estimate);
    estimate();
  });
  events.addEventListener("state", (e) => show(JSON.parse(e.data)));
  events.addEventListener("closed", () => {
    events.close();
    now.closed = true;
    alerts();
  });
  setInterval(alerts, 300);
}

// hold lets a value stand for a moment where a sensor is slower than the needle; its age goes with it.
function hold(n, before) {
  for (const key of ["flow_m3_s", "effective_area_m2", "test_pressure_pa"]) {
    const since = `${key}_since`;
    n[since] = n.time_s;
    if (n[key] == null && before && before[key] != null && n.time_s - before[since] < 1) {
      n[key] = before[key];
      n[since] = before[since];
    }
  }
  return n;
}

function show(view) {
  const was = now.view;
  now.view = view;
  if (!view.taking || view.since_s !== was?.since_s) {
    now.estimate = null;
    now.wasSettled = false;
    channel.steady(null);
  }
  steps(view);
  queue(view);
  facts(view);
  const pic = $(".bench-picture");
  pic.replaceChildren(picture(view, opening));
  $(".bench-setup").textContent = setting(view, words, opening);
  $("#bench-what").textContent = what(view);
  const it = view.task === "readings" ? view.queue[view.chosen] : null;
  words.put($(".bench-repeat"), it && view.plan.repeats > 1 ? `repeat ${it.repeat} of ${view.plan.repeats}` : "");
  $('[data-act="air"]').hidden = !view.air?.live;
  estimate();
  touch();
}

function what(v) {
  if (v.task === "zero") return "Zero: blower off, hoses open";
  if (v.task === "leakage") return "Leakage: everything blanked";
  if (v.task === "check") return "Check plate";
  const it = v.queue[v.chosen];
  if (!it) return v.queue.length ? "Everything is taken" : "No plan yet";
  const lift = it.lift_m > 0 ? `, lift ${words.with("length", it.lift_m)}` : "";
  return `${capital(opening(it.opening))}${lift}`;
}

function needle() {
  const n = now.needle;
  const v = now.view;
  words.put($('[data-show="drop"]'), n?.test_pressure_pa == null ? "–" : words.with("pressure", n.test_pressure_pa));
  stick(n?.test_pressure_pa, v?.rig);
  if (!now.estimate || now.estimate.unusable) big();
}

function stick(drop, rig) {
  const target = rig?.test_pressure_pa ?? 0;
  const svg = $(".stick");
  svg.classList.toggle("no-target", !target);
  if (!target || drop == null) return;
  const band = rig.band;
  const x = 60 + (20 * (drop / target - 1)) / band;
  const at = Math.min(117, Math.max(3, x));
  svg.querySelector(".stick-mark").setAttribute("d", `M${at.toFixed(1)} 0v16`);
  svg.classList.toggle("off-target", Math.abs(drop / target - 1) > band);
}

// The big number: the settled mean of what is being taken, else where the needle is.
function big() {
  const v = now.view;
  const e = now.estimate;
  const out = $(".big-value");
  let text = "";
  let unit = words.big.name;
  let calm = false;
  if (v?.task === "zero") {
    const z = Object.values(e?.zeros_si ?? {});
    text = z.length ? z.map((x) => words.number(x, 1)).join("  ") : "";
    unit = "Pa";
  } else if (e && !e.unusable) {
    const leaks = v.task === "leakage";
    text = words.bigNumber(words.big.kind === "area" && !leaks ? e.effective_area_m2 : e.flow_m3_s, leaks);
    if (leaks) unit = words.flowUnit();
  } else if (now.needle) {
    const x = words.big.kind === "area" ? now.needle.effective_area_m2 : now.needle.flow_m3_s;
    text = x == null ? "" : words.bigNumber(x);
    calm = true;
  }
  words.put(out, text || "–");
  out.classList.toggle("is-empty", !text);
  out.dataset.length = String(Math.max(5, text.length));
  out.classList.toggle("is-needle", calm);
  out.dataset.si = e && !e.unusable ? String(e.flow_m3_s) : "";
  words.put($(".big-unit"), unit);
}

function estimate() {
  const e = now.estimate;
  const v = now.view;
  big();
  main.dataset.seq = e ? String(e.seq) : "";
  main.classList.toggle("is-settled", !!e?.settled);
  main.classList.toggle("is-taking", !!v?.taking);
  const share = e && e.need_s > 0 ? Math.min(1, e.steady_s / e.need_s) : 0;
  const fill = $(".fill");
  fill.setAttribute("aria-valuenow", String(Math.round(100 * share)));
  fill.firstElementChild.style.width = `${(100 * share).toFixed(1)}%`;
  words.put($(".big-state"), said());
  words.put($('[data-show="peak"]'), e && e.peak_m3_s > 0 ? words.with("flow", e.peak_m3_s) : "–");
  words.put($('[data-show="waver"]'), e && e.waver > 0 ? `${words.number(100 * e.waver, 1)} %` : "–");
  if (e?.settled && !now.wasSettled) voice.settled($(".big-value").textContent, $(".big-unit").textContent);
  now.wasSettled = !!e?.settled;
  touch();
}

function said() {
  const v = now.view;
  const e = now.estimate;
  if (!v) return "";
  if (!v.taking) return v.message ? capital(v.message) : "";
  if (!e) return "Listening";
  if (e.unusable) return capital(e.text);
  if (e.least_m3_s > 0) return `${capital(e.text)}, less than ${words.with("flow", e.least_m3_s)}. Skip, or take a smaller plate`;
  const length = e.steady_s > 0 && e.text === "settling" ? ` ${words.number(Math.min(e.steady_s, e.need_s), 1)} of ${words.number(e.need_s, 0)} s` : "";
  const pm = v.task === "readings" || v.task === "check" ? ` ± ${words.number((100 * e.u_flow_m3_s) / e.flow_m3_s, 2)} %` : "";
  const off = v.task === "check" ? `, ${words.signed(100 * e.deviation, 2)} % off the plate` : "";
  if (e.settled) return `Settled${pm}${off}`;
  return `${capital(e.text)}${length}`;
}

// What the main button does now.
function turn() {
  const v = now.view;
  if (!v || now.closed) return { text: "Wait" };
  if (v.taking) {
    if (now.estimate?.settled) return { text: "Keep", does: { do: "keep", seq: now.estimate.seq } };
    return { text: "Settling" };
  }
  const left = v.queue[v.chosen];
  switch (v.task) {
    case "air":
      return { text: "Write down the air", href: `/jobs/${encodeURIComponent(v.job)}/sittings/${encodeURIComponent(v.sitting)}/walk#step-air` };
    case "zero":
      return { text: "Blower is off", does: { do: "begin" } };
    case "leakage":
      return { text: "All blanked", does: { do: "begin" } };
    case "check":
      return { text: "Plate is on", does: { do: "begin" } };
  }
  if (!v.queue.length) return { text: "Make a plan", plan: true };
  if (!left) return { text: "Done: plan more", plan: true };
  return { text: `${capital(opening(left.opening))} is open`, does: { do: "begin" } };
}

function touch() {
  const t = turn();
  const b = $('[data-act="main"]');
  words.put(b, now.busy ? "…" : t.text);
  b.disabled = now.busy || !(t.does || t.plan || t.href);
  b.classList.toggle("is-keep", t.does?.do === "keep");
  $('[data-act="repeat"]').disabled = now.busy || !now.view?.taking;
}

function steps(v) {
  const nav = $(".bench-steps");
  nav.replaceChildren(
    ...v.steps.filter((s) => s.key !== "air").map((s) => {
      const b = document.createElement("button");
      b.type = "button";
      b.className = `bench-step is-${s.state.replaceAll(" ", "-")}`;
      b.dataset.step = s.key;
      b.innerHTML = `<svg class="glyph" viewBox="0 0 16 16" aria-hidden="true"><use href="#g-${{ done: "same", skipped: "refused", "outside limits": "warn" }[s.key === "readings" && v.left ? "" : s.state] ?? "open"}"/></svg><strong></strong><small></small>`;
      b.querySelector("strong").textContent = stepTitles[s.key];
      b.querySelector("small").textContent = s.key === "readings" ? (v.queue.length ? `${v.left} left` : "no plan") : s.state;
      if (s.key === v.task) b.setAttribute("aria-current", "step");
      b.addEventListener("click", () => act({ do: "step", step: s.key }));
      return b;
    }),
  );
  const open = v.steps.find((s) => s.key === v.task);
  if (open?.state === "not done" && ["zero", "leakage", "check"].includes(v.task)) {
    const b = document.createElement("button");
    b.type = "button";
    b.className = "bench-step bench-skip";
    b.textContent = "Skip";
    b.addEventListener("click", () => why(v.task));
    nav.append(b);
  }
}

function queue(v) {
  $(".queue-left").textContent = v.queue.length ? `${v.left} of ${v.queue.length}` : "";
  const list = $(".bench-queue ol");
  list.replaceChildren(
    ...v.queue.map((q, i) => {
      const li = document.createElement("li");
      const b = document.createElement("button");
      b.type = "button";
      b.textContent = q.lift_m > 0 ? `${q.opening} · ${words.with("length", q.lift_m)}` : q.opening;
      b.title = q.reading ? `${opening(q.opening)}, taken as ${q.reading}` : opening(q.opening);
      b.className = q.reading ? "taken" : "";
      if (i === v.chosen) b.setAttribute("aria-current", "true");
      b.setAttribute("aria-label", `${opening(q.opening)}, repeat ${q.repeat}${q.reading ? ", taken" : ""}`);
      b.addEventListener("click", () => act({ do: "choose", to: i }));
      li.append(b);
      return li;
    }),
  );
  list.querySelector("[aria-current]")?.scrollIntoView({ block: "nearest" });
}

function facts(v) {
  const age = v.air.age_s;
  const old = age > v.air.limit_s && !v.air.live;
  const air = $('[data-show="air"]');
  words.put(air, v.air.live ? "from its sensors" : `${words.age(age)} old`);
  air.classList.toggle("is-warn", old);
  const state = (key) => v.steps.find((s) => s.key === key)?.state ?? "";
  const leak = $('[data-show="leakage"]');
  words.put(leak, v.leakage_m3_s == null ? state("leakage") : words.with("flow", v.leakage_m3_s));
  leak.classList.toggle("is-warn", state("leakage") !== "done");
  const plate = $('[data-show="plate"]');
  words.put(plate, v.check_deviation == null ? state("check") : `${words.signed(100 * v.check_deviation, 2)} %`);
  plate.classList.toggle("is-warn", state("check") !== "done");
}

// Faults stand above everything, by name.
function alerts() {
  const list = [];
  if (now.closed) list.push(["closed", "The bench was closed. Load this page again to open it."]);
  else if (now.heard && performance.now() - now.heard > 1500) list.push(["lost", "Nothing comes from Runnel: is it still running? This page goes on by itself when it is."]);
  for (const f of now.needle?.faults ?? []) list.push([f.kind, `${capital(f.kind)}${f.channel ? `, ${f.channel}` : ""}: ${f.text}`]);
  if (now.view?.problem) list.push(["problem", now.view.problem]);
  if (now.error) list.push(["error", now.error]);
  if (now.view && !now.view.air.live && now.view.air.age_s > now.view.air.limit_s) list.push(["air", "The air is stale: write it down again."]);
  const text = JSON.stringify(list);
  if (text === now.said) return;
  now.said = text;
  $(".bench-alerts").replaceChildren(
    ...list.map(([kind, line]) => {
      const p = document.createElement("p");
      p.dataset.fault = kind;
      p.textContent = line;
      return p;
    }),
  );
}

// A touch is sent; the answer says how the bench stands.
async function act(what) {
  if (now.busy) return null;
  now.busy = true;
  now.error = "";
  touch();
  try {
    const answer = await fetch("/bench/do", { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(what) });
    const body = await answer.json();
    if (body.error) now.error = body.error;
    if (body.view?.open) show(body.view);
    return body;
  } catch {
    now.error = "Runnel did not answer: what was touched last may not be kept. Look at the list before you go on.";
    return null;
  } finally {
    now.busy = false;
    alerts();
    touch();
  }
}

function press() {
  const t = turn();
  if (t.plan) return planner.open(now.view);
  if (t.href) return location.assign(t.href);
  if (t.does) return act(t.does);
  return null;
}

const planner = plan($("dialog.plan"), (p) => act({ do: "plan", plan: p }));
const acts = {
  main: press,
  repeat: () => act({ do: "repeat" }),
  undo: () => act({ do: "undo" }),
  next: () => act({ do: "next" }),
  previous: () => act({ do: "previous" }),
  plan: () => planner.open(now.view),
  air: () => act({ do: "air" }),
  unit: () => {
    words.turn();
    channel.draw();
    big();
  },
};
for (const b of document.querySelectorAll("[data-act]")) b.addEventListener("click", () => acts[b.dataset.act]());

function why(step) {
  const d = $("dialog.why");
  const least = now.estimate?.least_m3_s ?? 0;
  d.querySelector("input").value = step === "leakage" && least > 0 ? `less than meter ${now.view.rig.meter} can see, ${words.with("flow", least)}` : "";
  d.querySelector("[data-step-name]").textContent = stepTitles[step].toLowerCase();
  d.querySelector("form").onsubmit = async (e) => {
    e.preventDefault();
    const body = await act({ do: "skip", step, why: d.querySelector("input").value });
    d.querySelector(".wrong").textContent = body?.wrong?.why ?? "";
    if (body && !body.error) d.close();
    now.error = "";
  };
  d.showModal();
}
for (const b of document.querySelectorAll("[data-shut]")) b.addEventListener("click", () => b.closest("dialog").close());

const byKey = { " ": "main", r: "repeat", u: "undo", ArrowRight: "next", ArrowDown: "next", ArrowLeft: "previous", ArrowUp: "previous", p: "plan", v: "unit" };
document.addEventListener("keydown", (e) => {
  if (e.ctrlKey || e.metaKey || e.altKey || e.repeat || document.querySelector("dialog[open]") || e.target.matches("input, select, textarea, summary")) return;
  const name = byKey[e.key];
  if (!name) return;
  e.preventDefault();
  acts[name]();
});
// Space is for the bench, not for the button that was touched last.
document.addEventListener("keyup", (e) => {
  if (e.key === " " && e.target.matches("button") && !document.querySelector("dialog[open]")) e.preventDefault();
});

// The big number is as large as the width allows: that goes by the font this machine has.
function measure() {
  const pen = document.createElement("canvas").getContext("2d");
  pen.font = `700 200px ${getComputedStyle($(".big-value")).fontFamily}`;
  const wide = Math.max(...Array.from("0123456789", (c) => pen.measureText(c).width)) / 200;
  if (wide > 0) main.style.setProperty("--digit", (wide - 0.02).toFixed(3));
}

window.runnelBench = now;
measure();
listen();
touch();
