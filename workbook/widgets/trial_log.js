// What was done and what came of it, in words: read aloud as it comes, and there to be read again.

class TrialLog extends BenchLog {
  // `heart()` returns how the heart rate is told, or nothing.
  constructor(words, dials, outlets, heart) {
    super(words, dials, outlets);
    this.heart = heart;
    this.list.classList.add("tpiece-trial-log");
  }

  clear() {
    super.clear();
    this.list.firstChild.textContent = this.words.trialLogEmpty;
  }

  write(gauge) {
    super.write(gauge);
    const heart = this.heart?.();
    if (heart) this.list.lastChild.append(` ${heart}`);
  }

  // A move and its answer, after what the hand at the hole did before it.
  say(time, text, gauge) {
    if (this.pending.length) this.write(gauge);
    if (this.empty) this.list.replaceChildren();
    this.empty = false;
    const heart = this.heart?.() ?? "";
    const says = fill(this.words.trialLogLine, { time: time.toFixed(0), says: text, heart });
    this.list.append(element("p", {}, says.trim()));
    this.list.scrollTop = this.list.scrollHeight;
  }
}
