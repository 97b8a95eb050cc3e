// Keyboard: an element with data-key is clicked (or focused) by that key, and data-help says so in the list.
const typing = (el) => el.matches("input:not([type=file]), select, textarea, [contenteditable]");

const act = (el) => {
  if (typing(el)) {
    el.focus();
    el.select?.();
    return;
  }
  el.click();
};

export function keys(doc) {
  const dialog = doc.getElementById("keys");
  for (const opener of doc.querySelectorAll("[data-opens]")) {
    opener.hidden = false;
    opener.addEventListener("click", () => {
      list(doc, dialog);
      dialog.showModal();
    });
  }
  doc.addEventListener("keydown", (e) => {
    if (e.ctrlKey || e.metaKey || e.altKey || e.isComposing || typing(e.target) || dialog.open) return;
    for (const el of doc.querySelectorAll("[data-key]")) {
      if (el.dataset.key === e.key) {
        e.preventDefault();
        act(el);
        return;
      }
    }
  });
}

function list(doc, dialog) {
  const dl = dialog.querySelector("dl");
  dl.replaceChildren();
  for (const el of doc.querySelectorAll("[data-key]")) {
    const dt = doc.createElement("dt");
    const kbd = doc.createElement("kbd");
    kbd.textContent = el.dataset.key;
    dt.append(kbd);
    const dd = doc.createElement("dd");
    dd.textContent = el.dataset.help;
    dl.append(dt, dd);
  }
}
