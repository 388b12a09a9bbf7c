// The written notes, played by the small piano on the clock of the recording.
const notesOf = (sound, whenReady) => {
  const LOOK_S = 0.15; // notes are handed over this long before they sound
  const ROOT_LEVEL = 0.1; // soft: under the chords, not beside them
  const listed = (id) => JSON.parse(byId(id).textContent);
  let hearing = "recording";
  let rooted = false;
  let graph = null; // made when first needed
  // What is played on the clock of the recording; notes before `handed` are handed over.
  const queues = [
    {
      notes: listed("notes").map(([start, length, midi, velocity]) => ({
        start, length, midi, level: 0.4 * (velocity / 127) ** 1.5,
      })),
      side: "notes", handed: 0, isOn: () => hearing !== "recording",
    },
    {
      notes: listed("roots").map(([start, length, midi]) => ({ start, length, midi, level: ROOT_LEVEL })),
      side: "roots", handed: 0, isOn: () => rooted,
    },
  ];
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
      roots: side(context, null),
    };
    made.ready = pianoFor(context).then((voice) => {
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
    queues.forEach((queue) => { queue.handed = lastAtOrBefore(queue.notes, time - 0.01) + 1; });
  };
  const strike = (note, when, seconds, to) => {
    const tone = graph.voice(note.midi, note.level, when, seconds, graph[to].input);
    tone.addEventListener("ended", () => { tones = tones.filter((other) => other !== tone); });
    tones.push(tone);
  };
  const isThere = () => !queues.some((queue) => queue.isOn()) || Boolean(graph?.voice);
  // Notes that begin within a moment, but not from `end` on.
  const handOver = (end) => {
    if (!isThere()) return;
    const time = sound.currentTime;
    const rate = sound.playbackRate;
    queues.filter((queue) => queue.isOn()).forEach((queue) => {
      while (queue.handed < queue.notes.length
             && queue.notes[queue.handed].start < Math.min(time + LOOK_S * rate, end)) {
        const note = queue.notes[queue.handed];
        const wait = Math.max(0, (note.start - time) / rate);
        strike(note, graph.context.currentTime + wait, Math.max(note.length / rate, 0.05), queue.side);
        queue.handed += 1;
      }
    });
  };
  // The piano is made within a click: browsers let no page sound before one.
  const wake = () => {
    if (!graph && queues.some((queue) => queue.isOn())) graph = makeGraph();
    if (graph) graph.context.resume();
  };
  const toggleRoots = () => {
    if (!byId("piano")) return;
    rooted = !rooted;
    byId("rooted").setAttribute("aria-pressed", String(rooted));
    wake();
    setVolume(volume);
  };
  // A stack over a root, at once: how an unsure chord sounds when it is this or that one.
  const sampleOver = (stack, root) => {
    if (!graph) graph = makeGraph();
    graph.context.resume();
    graph.ready.then(() => {
      quiet();
      setVolume(volume);
      graph.notes.gain.value = volume;
      const when = graph.context.currentTime + 0.02;
      stack.forEach((midi) => strike({ midi, level: 0.16 }, when, 1.6, "notes"));
      strike({ midi: root, level: 2 * ROOT_LEVEL }, when, 1.6, "roots");
    });
  };
  const hear = (what) => {
    if (!byId("piano")) return; // nothing was written down
    hearing = what;
    wake();
    document.querySelectorAll(".hear").forEach((button) => {
      button.setAttribute("aria-pressed", String(button.dataset.hear === what));
    });
    if (!graph) return;
    graph.recording.gain.value = what === "notes" ? 0 : 1;
    graph.notes.gain.value = what === "recording" ? 0 : volume;
    graph.recording.pan.value = what === "both" ? -1 : 0;
    graph.notes.pan.value = what === "both" ? 1 : 0;
  };
  const setVolume = (share) => {
    volume = share;
    sound.volume = share;
    if (!graph) return;
    graph.notes.gain.value = hearing === "recording" ? 0 : volume;
    graph.roots.gain.value = volume;
  };
  return { hear, hears: () => hearing, toggleRoots, sampleOver, isThere, handOver, rewind, quiet, setVolume };
};
