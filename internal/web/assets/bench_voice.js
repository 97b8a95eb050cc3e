// "Settled" by ear, and a screen that stays awake: all of it only when asked for.
export class Voice {
  constructor(doc) {
    this.on = {};
    for (const b of doc.querySelectorAll("[data-toggle]")) {
      const name = b.dataset.toggle;
      this.set(b, recall(name));
      b.addEventListener("click", () => {
        this.set(b, !this.on[name]);
        keep(name, this.on[name]);
        if (name === "beep" && this.on.beep) this.beep();
        if (name === "speak" && this.on.speak) this.say("Settled will be said");
        if (name === "awake") this.wake();
      });
    }
    doc.addEventListener("visibilitychange", () => {
      if (doc.visibilityState === "visible") this.wake();
    });
    this.wake();
  }

  set(b, on) {
    this.on[b.dataset.toggle] = on;
    b.setAttribute("aria-pressed", String(on));
  }

  settled(number, unit) {
    if (this.on.beep) this.beep();
    if (this.on.speak) this.say(`Settled. ${number} ${unit}`);
  }

  // beep is two short tones, the second a fourth higher.
  beep() {
    try {
      this.audio ??= new AudioContext();
      const t = this.audio.currentTime + 0.02;
      [660, 880].forEach((hz, i) => {
        const tone = this.audio.createOscillator();
        const gain = this.audio.createGain();
        tone.frequency.value = hz;
        gain.gain.setValueAtTime(0.0001, t + 0.16 * i);
        gain.gain.exponentialRampToValueAtTime(0.3, t + 0.16 * i + 0.02);
        gain.gain.exponentialRampToValueAtTime(0.0001, t + 0.16 * i + 0.14);
        tone.connect(gain).connect(this.audio.destination);
        tone.start(t + 0.16 * i);
        tone.stop(t + 0.16 * i + 0.15);
      });
    } catch {
      /* a browser without sound */
    }
  }

  say(text) {
    if (!("speechSynthesis" in window)) return;
    speechSynthesis.cancel();
    speechSynthesis.speak(new SpeechSynthesisUtterance(text));
  }

  async wake() {
    if (!this.on.awake) {
      this.lock?.release();
      this.lock = null;
      return;
    }
    try {
      this.lock = await navigator.wakeLock?.request("screen");
    } catch {
      this.lock = null; // the battery is low, or the page is hidden
    }
  }
}

function recall(name) {
  try {
    return localStorage.getItem(`runnel-bench-${name}`) === "yes";
  } catch {
    return false;
  }
}

function keep(name, on) {
  try {
    localStorage.setItem(`runnel-bench-${name}`, on ? "yes" : "no");
  } catch {
    /* a browser that keeps nothing */
  }
}
