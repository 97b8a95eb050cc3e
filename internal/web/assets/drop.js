// Opening a job folder: dropped, or chosen. Files are sent with their path inside the folder.
export function drop(form) {
  const state = form.querySelector(".drop-state");
  const stop = (e) => {
    e.preventDefault();
    form.classList.toggle("over", e.type === "dragover");
  };
  form.addEventListener("dragover", stop);
  form.addEventListener("dragleave", stop);
  form.addEventListener("drop", async (e) => {
    stop(e);
    const entries = [...e.dataTransfer.items].map((i) => i.webkitGetAsEntry?.()).filter(Boolean);
    const loose = [...e.dataTransfer.files];
    try {
      state.textContent = "Reading the folder …";
      const files = entries.length ? (await Promise.all(entries.map((x) => walk(x, "")))).flat() : loose.map((f) => [f.name, f]);
      await send(form, state, files);
    } catch (err) {
      state.textContent = `This could not be read: ${err.message}`;
    }
  });
  for (const input of form.querySelectorAll("input[type=file]")) {
    input.addEventListener("change", () => {
      const files = [...input.files].map((f) => [f.webkitRelativePath || f.name, f]);
      input.value = "";
      send(form, state, files).catch((err) => {
        state.textContent = `This could not be sent: ${err.message}`;
      });
    });
  }
}

async function walk(entry, path) {
  const name = path + entry.name;
  if (entry.isFile) {
    return [[name, await new Promise((done, fail) => entry.file(done, fail))]];
  }
  const reader = entry.createReader();
  const all = [];
  for (;;) {
    const some = await new Promise((done, fail) => reader.readEntries(done, fail));
    if (some.length === 0) break;
    for (const one of some) all.push(...(await walk(one, `${name}/`)));
  }
  return all;
}

async function send(form, state, files) {
  if (files.length === 0) {
    state.textContent = "Nothing was chosen.";
    return;
  }
  state.textContent = `Checking ${files.length} ${files.length === 1 ? "file" : "files"} …`;
  const body = new FormData();
  for (const [name, file] of files) body.append("files", file, name);
  const answer = await fetch(form.action, { method: "POST", body });
  if (answer.redirected) {
    location.assign(answer.url);
    return;
  }
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const refusal = page.querySelector(".refusal") ?? page.querySelector(".lead");
  state.textContent = "";
  form.closest(".import").querySelector(".refusal")?.remove();
  if (refusal) {
    refusal.classList.add("refusal");
    refusal.setAttribute("role", "alert");
    refusal.tabIndex = -1;
    form.before(document.adoptNode(refusal));
    refusal.focus();
  }
}
