// What the sensors show while they are set up, and a calibration out of two known values.
const form = document.querySelector("[data-sensors]");
const cards = [...form.querySelectorAll(".sensor")];
const put = (el, text) => {
  if (el.textContent !== text) el.textContent = text;
};

for (const card of cards) {
  card.points = {};
  card.recent = [];
  for (const b of card.querySelectorAll("[data-take]")) {
    b.addEventListener("click", () => {
      const last = card.recent.slice(-12); // three seconds
      if (!last.length) return;
      card.points[b.dataset.take] = last.reduce((s, x) => s + x, 0) / last.length;
      put(b, `${card.points[b.dataset.take].toPrecision(6)} ${card.querySelector(`[name="unit-${card.dataset.at}"]`).value}: take again`);
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
      if (s.raw !== null) card.recent = [...card.recent.slice(-39), s.raw];
      for (const b of card.querySelectorAll("[data-take]")) b.disabled = s.raw === null;
    }
  });
  events.addEventListener("ended", () => events.close());
}
