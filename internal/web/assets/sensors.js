// What the sensors show while they are set up, and a calibration out of two known values.
const form = document.querySelector("[data-sensors]");
const cards = [...form.querySelectorAll(".sensor")];
const put = (el, text) => {
  if (el.textContent !== text) el.textContent = text;
};

// A sensor that was just added is where typing goes on; it stands at the end of a long page.
cards.findLast((card) => !card.dataset.channel)?.querySelector("input").focus();

const mean = (list) => list.reduce((s, x) => s + x, 0) / list.length;
const show = (x) => (Math.abs(x) < 1e-9 ? "0" : x.toPrecision(5));

// moves reports whether a value still moves: its second half lies apart from its first, or its last second from what was before, by
// more than its waver explains, by more than 0.3 % of it and by more than 0.05 % of the sensor's range. Each item of the list is the mean of a second, a quarter apart.
function moves(list, range) {
  if (list.length < 8) return true; // too little was seen to tell
  const raw = list.map((x) => x.raw);
  const half = raw.length >> 1;
  const least = Math.max(0.003 * Math.max(...raw.map(Math.abs)), 0.0005 * range);
  const calm = list.reduce((a, x) => (x.sd < a.sd ? x : a));
  const limit = (seconds) => Math.max(least, 4 * calm.sd * Math.sqrt(2 / Math.max(1, calm.rate_hz * seconds)));
  const far = (a, b) => Math.abs(mean(a) - mean(b));
  return far(raw.slice(0, half), raw.slice(half)) > limit(1.5) || far(raw.slice(0, -3), raw.slice(-1)) > limit(1);
}

for (const card of cards) {
  card.points = {};
  card.recent = [];
  for (const b of card.querySelectorAll("[data-take]")) {
    b.addEventListener("click", () => {
      const last = card.recent.slice(-12); // three seconds
      if (!last.length) return;
      const seen = last.map((x) => x.raw);
      const end = (name) => Number(form.elements[`${name}-${card.dataset.at}`].value) || 0;
      if (moves(last, Math.abs(end("high") - end("low")))) {
        put(card.querySelector("[data-two-wrong]"), `It still moves, from ${show(Math.min(...seen))} to ${show(Math.max(...seen))}: hold the value, wait three seconds and take the point again.`);
        return;
      }
      card.points[b.dataset.take] = mean(seen);
      put(b, `${show(card.points[b.dataset.take])} ${card.querySelector(`[name="unit-${card.dataset.at}"]`).value}: take again`);
      put(card.querySelector("[data-two-wrong]"), "");
      work(card);
    });
  }
  for (const input of card.querySelectorAll("[data-true]")) input.addEventListener("change", () => work(card));
}

async function work(card) {
  const at = card.dataset.at;
  if (card.points.a === undefined || card.points.b === undefined) return;
  const known = (k) => card.querySelector(`[data-true="${k}"]`).value;
  const answer = await fetch("/bench/sensors/two-point", {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify({
      unit: form.elements[`unit-${at}`].value, role: form.elements[`role-${at}`].value,
      raw_a: card.points.a, raw_b: card.points.b, TrueA: known("a"), TrueB: known("b"),
    }),
  });
  const body = await answer.json();
  put(card.querySelector("[data-two-wrong]"), body.error ?? "The calibration is filled in: read the sensors as typed, then save.");
  if (body.calibration) form.elements[`calibration-${at}`].value = body.calibration;
}

if ("reading" in form.dataset) {
  const events = new EventSource(`/bench/sensors/live?job=${encodeURIComponent(form.dataset.sensors)}`);
  events.addEventListener("signs", (e) => {
    for (const s of JSON.parse(e.data).sensors) {
      const card = cards.find((c) => c.dataset.channel === s.channel);
      if (!card) continue;
      put(card.querySelector("[data-raw]"), s.raw_text);
      put(card.querySelector("[data-value]"), s.value_text);
      put(card.querySelector("[data-life]"), s.life);
      put(card.querySelector("[data-faults]"), s.faults.join(" "));
      if (s.raw !== null) card.recent = [...card.recent.slice(-39), s];
      for (const b of card.querySelectorAll("[data-take]")) b.disabled = s.raw === null;
    }
  });
  events.addEventListener("ended", () => events.close());
}
