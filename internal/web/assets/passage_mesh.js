// Sending a mesh: how much of it has gone, then that it is being cut; what is refused is told beside the form, which keeps what was chosen.
export function sendMesh(form) {
  const state = form.querySelector("[data-state]"), bar = form.querySelector("progress"), refused = form.querySelector("[data-refused]");
  form.dataset.ready = "yes";
  form.addEventListener("submit", (e) => {
    e.preventDefault();
    const button = form.querySelector(".deeds button");
    const ask = new XMLHttpRequest();
    ask.open("POST", form.action);
    ask.setRequestHeader("Accept", "application/json, text/html;q=0.5");
    ask.upload.addEventListener("progress", (p) => {
      if (!p.lengthComputable) return;
      bar.value = p.loaded / p.total;
      state.textContent = p.loaded < p.total ? `Sending, ${Math.round(100 * p.loaded / p.total)} % …` : "Mending it and cutting the sections …";
    });
    const over = (text) => {
      button.disabled = false;
      bar.hidden = true;
      state.textContent = "";
      refused.hidden = false;
      refused.querySelector("strong").textContent = text;
      refused.scrollIntoView({ block: "nearest" });
    };
    ask.addEventListener("load", () => {
      let answer = {};
      try { answer = JSON.parse(ask.responseText); } catch { /* not told in JSON */ }
      if (ask.status < 300 && answer.go) {
        location.assign(answer.go);
        return;
      }
      if (answer.unit) form.querySelector("[name=unit]").value = answer.unit;
      over(answer.wrong ?? `This could not be taken (${ask.status}).`);
      if (answer.unit) refused.querySelector("strong").textContent += " The likeliest is chosen below: check it and send again.";
    });
    ask.addEventListener("error", () => over("The connection broke. Nothing was changed; send it again."));
    refused.hidden = true;
    button.disabled = true;
    bar.hidden = false;
    bar.value = 0;
    state.textContent = "Sending …";
    ask.send(new FormData(form));
  });
}
