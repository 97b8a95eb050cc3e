// The last minute of flow as water in a channel: its surface is the needle, and the steady part clears and fills.
const reach = 60; // [s]
const scaleWidth = 94; // holds "−1234.5" beside the needle [px]

export class Channel {
  constructor(canvas, words) {
    this.canvas = canvas;
    this.words = words;
    this.points = [];
    this.estimate = null;
    this.low = NaN;
    this.high = NaN;
    new ResizeObserver(() => this.draw()).observe(canvas.parentElement);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.draw());
  }

  add(n) {
    const last = this.points[this.points.length - 1];
    if (last && n.time_s < last.t - 5) this.points = []; // a bench that was opened anew
    this.points.push({ t: n.time_s, q: n.flow_m3_s, a: n.effective_area_m2 });
    while (this.points.length && this.points[0].t < n.time_s - reach - 1) this.points.shift();
    this.soon();
  }

  steady(e) {
    this.estimate = e;
    this.soon();
  }

  soon() {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.draw();
    });
  }

  // range follows the last seconds calmly, and is never so tight that mere noise fills the channel.
  range(key) {
    const now = this.points[this.points.length - 1]?.t ?? 0;
    const seen = this.points.filter((p) => p.t > now - 12 && p[key] != null).map((p) => p[key]);
    if (!seen.length) return false;
    const min = Math.min(...seen);
    const max = Math.max(...seen);
    const mid = (min + max) / 2;
    const half = Math.max((max - min) * 0.75, 0.015 * Math.abs(mid), 1e-9);
    if (key !== this.key || !Number.isFinite(this.low)) [this.low, this.high] = [mid - half, mid + half];
    this.key = key;
    this.low += 0.1 * (mid - half - this.low);
    this.high += 0.1 * (mid + half - this.high);
    if (max > this.high || min < this.low) {
      this.low = Math.min(this.low, min - 0.1 * half);
      this.high = Math.max(this.high, max + 0.1 * half);
    }
    return true;
  }

  draw() {
    const box = this.canvas.parentElement;
    const w = box.clientWidth;
    const h = box.clientHeight;
    const ratio = devicePixelRatio || 1;
    if (w < 10 || h < 10) return;
    if (this.canvas.width !== Math.round(w * ratio) || this.canvas.height !== Math.round(h * ratio)) {
      this.canvas.width = Math.round(w * ratio);
      this.canvas.height = Math.round(h * ratio);
    }
    const c = this.canvas.getContext("2d");
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, w, h);
    const css = getComputedStyle(document.documentElement);
    const ink = (name) => css.getPropertyValue(`--${name}`).trim();
    const key = this.words.big.kind === "area" ? "a" : "q";
    const edge = { left: 8, right: w - scaleWidth, top: 10, bottom: h - 10 };
    this.banks(c, edge, ink);
    if (!this.range(key)) return;
    const now = this.points[this.points.length - 1].t;
    const x = (t) => edge.right - ((now - t) / reach) * (edge.right - edge.left);
    const y = (v) => edge.bottom - 14 - ((v - this.low) / (this.high - this.low)) * (edge.bottom - edge.top - 28);
    c.save();
    c.beginPath();
    c.rect(edge.left, edge.top, edge.right - edge.left + 60, edge.bottom - edge.top);
    c.clip();
    for (const run of this.runs(key)) this.water(c, run, x, y, key, edge, ink);
    this.mean(c, x, y, key, edge, ink);
    this.float(c, x, y, key, edge, ink);
    c.restore();
    this.scale(c, y, edge, ink, css);
  }

  // banks are the walls of the channel.
  banks(c, edge, ink) {
    c.strokeStyle = ink("grid");
    c.lineWidth = 2;
    c.beginPath();
    c.moveTo(edge.left, edge.top);
    c.lineTo(edge.left, edge.bottom);
    c.lineTo(edge.right, edge.bottom);
    c.stroke();
    c.lineWidth = 1;
    for (let s = 10; s < reach; s += 10) {
      const at = edge.right - (s / reach) * (edge.right - edge.left);
      c.beginPath();
      c.moveTo(at, edge.bottom);
      c.lineTo(at, edge.bottom - 6);
      c.stroke();
    }
  }

  // runs are the stretches without a gap: where no sample came there is no water.
  runs(key) {
    const out = [];
    let run = [];
    for (const p of this.points) {
      if (p[key] == null) continue;
      const last = run[run.length - 1];
      if (last && p.t - last.t > 0.6) {
        if (run.length > 1) out.push(run);
        run = [];
      }
      run.push(p);
    }
    if (run.length > 1) out.push(run);
    return out;
  }

  water(c, run, x, y, key, edge, ink) {
    const e = this.estimate;
    const fill = (from, to, alpha) => {
      const part = run.filter((p) => p.t >= from && p.t <= to);
      if (part.length < 2) return;
      c.beginPath();
      c.moveTo(x(part[0].t), edge.bottom);
      for (const p of part) c.lineTo(x(p.t), y(p[key]));
      c.lineTo(x(part[part.length - 1].t), edge.bottom);
      c.closePath();
      c.globalAlpha = alpha;
      c.fillStyle = ink("after");
      c.fill();
      c.globalAlpha = 1;
    };
    fill(-Infinity, Infinity, 0.13);
    if (e && !e.unusable && e.to_s > e.from_s && e.steady_s > 0) {
      fill(e.from_s, Math.max(e.to_s, run[run.length - 1].t - 0.3), e.settled ? 0.62 : 0.16 + 0.34 * Math.min(1, e.steady_s / e.need_s));
    }
    c.beginPath();
    run.forEach((p, i) => (i ? c.lineTo(x(p.t), y(p[key])) : c.moveTo(x(p.t), y(p[key]))));
    c.strokeStyle = ink("after");
    c.lineWidth = 2;
    c.lineJoin = "round";
    c.stroke();
  }

  mean(c, x, y, key, edge, ink) {
    const e = this.estimate;
    if (!e || e.unusable || !(e.steady_s > 0) || !(e.to_s > e.from_s)) return;
    const v = key === "a" ? e.effective_area_m2 : e.flow_m3_s;
    c.strokeStyle = ink("ink");
    c.setLineDash([7, 5]);
    c.lineWidth = 2;
    c.beginPath();
    c.moveTo(Math.max(edge.left, x(e.from_s)), y(v));
    c.lineTo(edge.right + 12, y(v));
    c.stroke();
    c.setLineDash([]);
    c.lineWidth = 1.5;
    c.beginPath();
    c.moveTo(x(e.from_s), edge.top + 4);
    c.lineTo(x(e.from_s), edge.bottom);
    c.stroke();
  }

  // float rides on the water at the right: the needle.
  float(c, x, y, key, edge, ink) {
    const end = this.points[this.points.length - 1].t;
    const p = this.points.findLast((q) => q[key] != null && q.t > end - 1);
    if (!p) return;
    const at = Math.min(edge.bottom, Math.max(edge.top, y(p[key])));
    c.fillStyle = ink("accent");
    c.strokeStyle = ink("paper");
    c.lineWidth = 3;
    c.beginPath();
    c.moveTo(edge.right + 2, at);
    c.lineTo(edge.right + 22, at - 11);
    c.lineTo(edge.right + 22, at + 11);
    c.closePath();
    c.stroke();
    c.fill();
  }

  scale(c, y, edge, ink, css) {
    c.fillStyle = ink("muted");
    c.font = `15px ${css.getPropertyValue("--sans")}`;
    c.textAlign = "left";
    c.textBaseline = "middle";
    const span = this.high - this.low;
    for (const v of [this.low + 0.06 * span, this.high - 0.06 * span]) c.fillText(this.words.bigNumber(v), edge.right + 26, y(v), scaleWidth - 26);
    c.textBaseline = "alphabetic";
    c.fillText(`${reach} s`, edge.left + 8, edge.bottom - 8);
  }
}
