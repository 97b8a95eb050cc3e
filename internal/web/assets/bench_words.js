// Numbers in the units of the reader. They come in SI, and value = (si − offset)/factor.
export class Words {
  constructor(styles) {
    this.styles = styles;
    this.list = styles.big;
    this.at = Math.max(0, this.list.findIndex((u) => u.name === read()));
  }

  get big() {
    return this.list[this.at];
  }

  turn() {
    this.at = (this.at + 1) % this.list.length;
    try {
      localStorage.setItem("runnel-bench-unit", this.big.name);
    } catch {
      /* a browser that keeps nothing */
    }
  }

  // flow is the unit of flow that goes with the big one.
  flowStyle() {
    return this.big.kind === "flow" ? this.big : this.styles.flow;
  }

  flowUnit() {
    return this.flowStyle().name;
  }

  number(x, decimals) {
    if (!Number.isFinite(x)) return "–";
    const text = Math.abs(x).toFixed(decimals);
    return x < 0 && Number(text) !== 0 ? `−${text}` : text;
  }

  signed(x, decimals) {
    const text = this.number(x, decimals);
    return x > 0 && Number(text) !== 0 ? `+${text}` : text;
  }

  value(style, si) {
    return (si - style.offset) / style.factor;
  }

  with(kind, si) {
    const s = kind === "flow" ? this.flowStyle() : this.styles[kind];
    return `${this.number(this.value(s, si), s.decimals)} ${s.name}`;
  }

  // bigNumber keeps to five figures, so that it can be read from afar.
  bigNumber(si, flow = false) {
    const s = flow ? this.flowStyle() : this.big;
    const x = this.value(s, si);
    const whole = Math.max(1, Math.floor(Math.log10(Math.abs(x) || 1)) + 1);
    return this.number(x, Math.max(0, Math.min(s.decimals + (flow ? 1 : 0), 5 - whole)));
  }

  age(s) {
    if (s < 90) return `${Math.round(s)} s`;
    if (s < 5400) return `${Math.round(s / 60)} min`;
    return `${(s / 3600).toFixed(1)} h`;
  }

  // put writes a text only where it changed, so that nothing is read out twice.
  put(el, text) {
    if (el.textContent !== text) el.textContent = text;
  }
}

function read() {
  try {
    return localStorage.getItem("runnel-bench-unit") ?? "";
  } catch {
    return "";
  }
}
