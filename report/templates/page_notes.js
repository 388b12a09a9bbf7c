// The written notes, played by the small piano on the clock of the recording.
const notesOf = (sound, whenReady) => {
  const LOOK_S = 0.15; // notes are handed over this long before they sound
  const notes = JSON.parse(byId("notes").textContent).map(([start, length, midi, velocity]) => ({
    start, length, midi, level: 0.4 * (velocity / 127) ** 1.5,
  }));
  let hearing = "recording";
  let graph = null; // made when first needed
  let handed = 0;   // notes before this index are handed over
  let tones = [];
  let volume = 1;

  const side = (context, input) => {
    const gain = new GainNode(context);
    const pan = new StereoPannerNode(context);
    if (input) input.connect(gain);
    gain.connect(pan).connect(context.destination);
    return { gain: gain.gain, pan: pan.pan, input: gain };
  };
  const makeGraph = () => {
    const context = new AudioContext();
    const made = {
      context,
      voice: null,
      recording: side(context, context.createMediaElementSource(sound)),
      notes: side(context, null),
    };
    pianoFor(context, made.notes.input).then((voice) => {
      made.voice = voice;
      byId("piano").dataset.ready = "true";
      whenReady();
    });
    return made;
  };
  const quiet = () => {
    tones.forEach((tone) => tone.stop());
    tones = [];
  };
  const rewind = (time) => {
    quiet();
    handed = lastAtOrBefore(notes, time - 0.01) + 1;
  };
  const strike = (note, when, seconds) => {
    const tone = graph.voice(note.midi, note.level, when, seconds);
    tone.addEventListener("ended", () => { tones = tones.filter((other) => other !== tone); });
    tones.push(tone);
  };
  const isThere = () => hearing === "recording" || Boolean(graph?.voice);
  // Notes that begin within a moment, but not from `end` on.
  const handOver = (end) => {
    if (hearing === "recording" || !isThere()) return;
    const time = sound.currentTime;
    const rate = sound.playbackRate;
    while (handed < notes.length && notes[handed].start < Math.min(time + LOOK_S * rate, end)) {
      const note = notes[handed];
      const wait = Math.max(0, (note.start - time) / rate);
      strike(note, graph.context.currentTime + wait, Math.max(note.length / rate, 0.05));
      handed += 1;
    }
  };
  const hear = (what) => {
    if (!byId("piano")) return; // nothing was written down
    hearing = what;
    document.querySelectorAll(".hear").forEach((button) => {
      button.setAttribute("aria-pressed", String(button.dataset.hear === what));
    });
    if (what !== "recording" && !graph) graph = makeGraph();
    if (!graph) return;
    graph.context.resume();
    graph.recording.gain.value = what === "notes" ? 0 : 1;
    graph.notes.gain.value = what === "recording" ? 0 : volume;
    graph.recording.pan.value = what === "both" ? -1 : 0;
    graph.notes.pan.value = what === "both" ? 1 : 0;
  };
  const setVolume = (share) => {
    volume = share;
    sound.volume = share;
    if (graph) graph.notes.gain.value = hearing === "recording" ? 0 : volume;
  };
  return { hear, hears: () => hearing, isThere, handOver, rewind, quiet, setVolume };
};
