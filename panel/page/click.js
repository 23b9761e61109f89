// A click on the beat, made here: the light's own clock says when.

export class Click {
  constructor() { this.on = false; this.last = null; }

  /** Sound may only begin when somebody has pressed something. */
  toggle() {
    this.on = !this.on;
    this.audio ??= new AudioContext();
    this.audio.resume();
    return this.on;
  }

  /** beat is where the music is, in beats of the meter from the song's start. */
  moment(playing, beat, first) {
    const n = Math.floor(beat);
    if (this.on && playing && this.last !== null && n !== this.last) this.sound(first(n));
    this.last = n;
  }

  sound(high) {
    const a = this.audio, o = a.createOscillator(), g = a.createGain(), t = a.currentTime;
    o.frequency.value = high ? 1760 : 1175;
    g.gain.setValueAtTime(0.25, t);
    g.gain.exponentialRampToValueAtTime(0.001, t + 0.06);
    o.connect(g).connect(a.destination);
    o.start(t);
    o.stop(t + 0.07);
  }
}
