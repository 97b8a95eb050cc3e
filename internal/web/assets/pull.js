// The engine page fills in when the pull is there: progress comes as server-sent events.
export function pull(part) {
  const bar = part.querySelector("[data-progress]");
  if (!bar) return;
  const stage = part.querySelector("[data-stage]");
  const events = new EventSource(`${part.dataset.pull}/progress`);
  let said = "";
  events.addEventListener("progress", (e) => {
    const p = JSON.parse(e.data);
    if (p.phase === "done" || p.phase === "failed" || p.phase === "no engine") {
      events.close();
      if (part.dataset.then === "reload") location.reload();
      else fill(part);
      return;
    }
    if (p.total > 0) bar.value = Math.min((100 * p.done) / p.total, 100);
    else bar.removeAttribute("value");
    if (p.stage !== said) {
      said = p.stage;
      stage.textContent = p.stage.charAt(0).toUpperCase() + p.stage.slice(1) + ".";
    }
  });
}

async function fill(part) {
  const answer = await fetch(`${part.dataset.pull}/engine/pull`);
  if (!answer.ok) {
    location.reload();
    return;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  part.replaceChildren(...page.body.childNodes);
  pull(part);
}
