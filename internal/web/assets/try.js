// Sliders that ask what a change would do: a coarse answer while moving, then refined, then with its band.
import { player } from "./player.js";

const wait = (ms) => new Promise((done) => setTimeout(done, ms));

function trial(form) {
  const address = form.dataset.try;
  const knobs = [...form.querySelectorAll("[data-knob]")].map((el) => knob(el));
  const all = form.querySelector("[data-all]");
  let asked = null; // what stops the answer under way

  const wanted = () => {
    const q = new URLSearchParams(new FormData(form));
    for (const k of knobs) if (!k.changed()) q.delete(k.name);
    q.delete("ask");
    return q;
  };

  async function ask(first) {
    asked?.abort();
    const mine = new AbortController();
    asked = mine;
    const q = wanted();
    history.replaceState(null, "", `${address}?${q}`);
    for (const a of form.querySelectorAll(".try-of a")) {
      const to = new URLSearchParams(q);
      to.set("state", new URL(a.href).searchParams.get("state"));
      a.href = `${address}?${to}`;
    }
    document.getElementById("try-show").classList.add("asking");
    try {
      for (let stage = first; stage; ) {
        q.set("stage", stage);
        const answer = await fetch(`${address}/answer?${q}`, { signal: mine.signal });
        const text = await answer.text();
        if (mine.signal.aborted) return;
        if (answer.status === 204) { // another page asked in between
          await wait(700);
          if (mine.signal.aborted) return;
          continue;
        }
        stage = show(text, answer.ok);
      }
      for (const f of document.querySelectorAll("[data-cycle-form]")) f.dispatchEvent(new Event("changed"));
    } catch (e) {
      if (e.name !== "AbortError") show(`<p class="try-trouble" role="alert">Runnel does not answer. Is it still running?</p>`, false);
    }
  }

  function show(text, ok) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const place = document.getElementById("try-show");
    place.classList.remove("asking");
    place.querySelector(".try-trouble")?.remove();
    if (!ok) {
      place.prepend(...page.body.childNodes);
      return "";
    }
    for (const id of ["try-show", "try-rest"]) document.getElementById(id).replaceChildren(...page.getElementById(id).childNodes);
    return place.querySelector("[data-next]").dataset.next;
  }

  const moved = () => {
    all.hidden = !knobs.some((k) => k.changed());
    if (knobs.every((k) => k.valid())) ask("coarse");
  };
  for (const k of knobs) k.onmove = moved;
  all.addEventListener("click", () => {
    for (const k of knobs) k.back();
    moved();
  });
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    moved();
  });
  all.hidden = !knobs.some((k) => k.changed());
  ask("coarse"); // warms the engine up, and answers what the address asks
}

// A knob holds a number and a slider together.
function knob(el) {
  const number = el.querySelector("input[type=number]");
  const slide = el.querySelector("[data-slide]");
  const back = el.querySelector("[data-back]");
  const now = el.dataset.now;
  const decimals = +el.dataset.decimals;
  const k = {
    name: number.name,
    onmove() {},
    changed: () => number.value !== "" && Math.abs(+number.value - +now) > 0.5001 * 10 ** -decimals,
    valid: () => number.value !== "" && Number.isFinite(+number.value),
    back() {
      number.value = now;
      follow();
    },
  };
  const mark = () => {
    el.classList.toggle("changed", k.changed());
    el.classList.toggle("wrong", !k.valid());
    back.hidden = !k.changed();
  };
  const follow = () => {
    if (k.valid()) slide.value = number.value;
    mark();
  };
  slide.hidden = false;
  slide.value = number.value;
  slide.addEventListener("input", () => {
    number.value = Math.abs(+slide.value - +now) < +slide.step / 2 ? now : (+slide.value).toFixed(decimals);
    mark();
    k.onmove();
  });
  slide.addEventListener("dblclick", () => back.click());
  number.addEventListener("input", () => {
    follow();
    k.onmove();
  });
  back.addEventListener("click", () => {
    const had = document.activeElement === back;
    k.back();
    k.onmove();
    if (had) slide.focus();
  });
  mark();
  return k;
}

// The wave picture: asked for once, then kept with the changes.
function waves(form) {
  const place = document.querySelector("[data-cycle-place]");
  const say = form.querySelector("[data-cycle-say]");
  let asked = null;
  let shown = "";

  async function ask() {
    asked?.abort();
    const mine = new AbortController();
    asked = mine;
    const q = new URLSearchParams(location.search);
    q.delete("stage");
    for (const [name, value] of new FormData(form)) q.set(name, value);
    if (`${q}` === shown) return;
    say.textContent = "Running one cycle …";
    try {
      const answer = await fetch(`${form.action}?${q}`, { signal: mine.signal });
      const text = await answer.text();
      if (mine.signal.aborted) return;
      if (answer.status === 204) { // another page asked in between
        say.textContent = "";
        return;
      }
      const page = new DOMParser().parseFromString(text, "text/html");
      const at = place.querySelector("[data-at]")?.value;
      place.replaceChildren(...page.body.childNodes);
      say.textContent = "";
      shown = answer.ok ? `${q}` : "";
      for (const el of place.querySelectorAll("[data-player]")) player(el, at);
    } catch (e) {
      if (e.name !== "AbortError") say.textContent = "Runnel does not answer. Is it still running?";
    }
  }
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    shown = "";
    ask();
  });
  form.addEventListener("change", () => place.children.length && ask());
  form.addEventListener("changed", () => place.children.length && ask());
}

for (const form of document.querySelectorAll("[data-try]")) trial(form);
for (const form of document.querySelectorAll("[data-cycle-form]")) waves(form);
