// Narrowing the list of readings while typing.
export function find(field) {
  const rows = [...document.querySelectorAll("[data-rows] tbody tr")];
  const texts = rows.map((r) => r.textContent.toLowerCase());
  const count = document.querySelector("[data-count]");
  const all = count?.textContent.split(" of ")[1];
  field.addEventListener("input", () => {
    const wanted = field.value.toLowerCase().split(/\s+/).filter(Boolean);
    let n = 0;
    rows.forEach((row, i) => {
      row.hidden = !wanted.every((w) => texts[i].includes(w));
      if (!row.hidden) n += 1;
    });
    if (count) count.textContent = `${n} of ${all}`;
  });
  field.addEventListener("keydown", (e) => {
    if (e.key === "Enter") e.preventDefault();
    if (e.key === "Escape") {
      field.value = "";
      field.dispatchEvent(new Event("input"));
      field.blur();
    }
  });
  for (const select of field.form.querySelectorAll("select")) {
    select.addEventListener("change", () => field.form.requestSubmit());
  }
}
