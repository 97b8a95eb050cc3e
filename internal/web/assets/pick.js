// One file for a form that works something out: chosen or dropped, it is sent at once.
export function pick(form) {
  const input = form.querySelector("input[type=file]"), zone = form.querySelector(".drop"), state = form.querySelector(".drop-state");
  const send = () => {
    if (!input.files.length) return;
    state.textContent = `Reading ${input.files[0].name} …`;
    form.requestSubmit(form.querySelector('button[value="file"]'));
  };
  input.addEventListener("change", send);
  const over = (e) => {
    e.preventDefault();
    zone.classList.toggle("over", e.type === "dragover");
  };
  zone.addEventListener("dragover", over);
  zone.addEventListener("dragleave", over);
  zone.addEventListener("drop", (e) => {
    over(e);
    if (e.dataTransfer.files.length !== 1) {
      state.textContent = "Drop one file.";
      return;
    }
    input.files = e.dataTransfer.files;
    send();
  });
}
