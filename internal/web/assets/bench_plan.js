// The plan: a rig card, a round, openings and repeats. Choices follow the piece of the rig card.
export function plan(dialog, send) {
  const form = dialog.querySelector("form");
  const rig = form.elements.rig;

  const follow = () => {
    const piece = rig.selectedOptions[0]?.dataset.piece;
    let first = null;
    for (const o of form.elements.round.options) {
      o.hidden = o.disabled = o.dataset.piece !== piece;
      if (!o.hidden && !first) first = o;
    }
    if (form.elements.round.selectedOptions[0]?.disabled !== false && first) first.selected = true;
    for (const l of form.querySelectorAll(".ticks label")) {
      l.hidden = l.dataset.piece !== piece;
    }
    const lifts = form.querySelector("[data-heads]");
    lifts.hidden = !lifts.dataset.heads.split(" ").includes(piece);
  };
  rig.addEventListener("change", follow);
  follow();

  form.addEventListener("submit", async (e) => {
    e.preventDefault();
    const body = await send({
      Rig: rig.value,
      Round: form.elements.round.value,
      Openings: [...form.querySelectorAll(".ticks label:not([hidden]) input:checked")].map((i) => i.value),
      Lifts: form.elements.lifts.value,
      Repeats: form.elements.repeats.value,
      Settle: form.elements.settle.value,
      Random: form.elements.random.checked,
    });
    for (const p of form.querySelectorAll("[data-wrong]")) p.textContent = body?.wrong?.[p.dataset.wrong] ?? "";
    if (!body) form.querySelector('[data-wrong=""]').textContent = "Runnel did not answer.";
    else if (body.error && !body.wrong) form.querySelector('[data-wrong=""]').textContent = body.error;
    else if (!body.error) dialog.close();
  });

  return {
    open(view) {
      if (view?.plan.rig) {
        rig.value = view.plan.rig;
        follow();
        form.elements.round.value = view.plan.round;
      }
      dialog.showModal();
    },
  };
}
