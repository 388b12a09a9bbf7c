// Plays what a button names on the page's piano; one sound at a time. Nothing is listened to.
(() => {
  const AHEAD_S = 0.1;   // from the click to the first note
  const RELEASE_S = 0.4;
  const LEVELS = { note: 0.16, high: 0.22, low: 0.12 };
  const byId = (id) => document.getElementById(id);
  const sounds = JSON.parse(byId("sounds").textContent);
  const buttons = [...document.querySelectorAll("[data-sound]")];
  let graph = null;      // made within a click: browsers let no page sound before one
  let playing = [];
  let lights = [];
  let turn = 0;          // what was asked for last

  const makeGraph = () => {
    const context = new AudioContext();
    const output = new GainNode(context);
    output.connect(context.destination);
    return { context, output, ready: pianoFor(context) };
  };
  const setVolume = () => {
    if (graph) graph.output.gain.value = Number(byId("volume").value) / 100;
  };
  const unlit = () => {
    lights.forEach(clearTimeout);
    lights = [];
    document.querySelectorAll(".sounding").forEach((one) => one.classList.remove("sounding"));
  };
  const stop = () => {
    turn += 1;
    playing.forEach((one) => one.stop());
    playing = [];
    unlit();
    buttons.forEach((button) => button.setAttribute("aria-pressed", "false"));
    byId("stop").disabled = true;
    byId("state").textContent = "";
  };
  const tick = (when, isFirst) => {
    const { context, output } = graph;
    const tone = new OscillatorNode(context, { frequency: isFirst ? 1660 : 1245 });
    const gain = new GainNode(context, { gain: 0 });
    gain.gain.setValueAtTime(isFirst ? LEVELS.high : LEVELS.low, when);
    gain.gain.setTargetAtTime(0, when + 0.005, 0.02);
    tone.connect(gain).connect(output);
    tone.start(when);
    tone.stop(when + 0.15);
    return tone;
  };
  // Times of a drill are beats of the tempo that stands in the player; all others are seconds.
  const secondsOf = (sound) => {
    const field = byId("tempo");
    if (!sound.beats || !field) return 1;
    const asked = Number(field.value) || Number(field.defaultValue);
    const bpm = Math.min(Math.max(asked, Number(field.min)), Number(field.max));
    field.value = String(bpm);
    return 60 / bpm;
  };
  const light = (place, when) => {
    lights.push(setTimeout(() => {
      document.querySelectorAll(".sounding").forEach((one) => one.classList.remove("sounding"));
      const row = byId(place);
      if (!row) return;
      row.classList.add("sounding");
      row.scrollIntoView({ block: "nearest" });
    }, when * 1000));
  };
  const play = async (button) => {
    const isAgain = button.getAttribute("aria-pressed") === "true";
    stop();
    if (isAgain) return;
    if (!graph) graph = makeGraph();
    graph.context.resume();
    setVolume();
    const mine = turn;
    button.setAttribute("aria-pressed", "true");
    byId("stop").disabled = false;
    byId("state").textContent = button.getAttribute("aria-label") || button.textContent;
    const voice = await graph.ready;
    if (mine !== turn) return;
    const sound = sounds[Number(button.dataset.sound)];
    const unit = secondsOf(sound);
    const start = graph.context.currentTime + AHEAD_S;
    sound.notes.forEach(([at, length, midi]) => {
      playing.push(voice(midi, LEVELS.note, start + at * unit, length * unit, graph.output));
    });
    const click = byId("click");
    if (sound.clicks && (!click || click.checked)) {
      sound.clicks.forEach(([at, isFirst]) => playing.push(tick(start + at * unit, isFirst)));
    }
    (sound.rows || []).forEach(([at, place]) => light(place, AHEAD_S + at * unit));
    document.body.dataset.sounded = String(playing.length);
    const ends = sound.notes.map(([at, length]) => at + length);
    const end = Math.max(...ends, ...(sound.clicks || []).map(([at]) => at + 1));
    lights.push(setTimeout(stop, (AHEAD_S + end * unit + RELEASE_S) * 1000));
  };
  buttons.forEach((button) => {
    button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", () => play(button));
  });
  byId("stop").addEventListener("click", stop);
  byId("volume").addEventListener("input", setVolume);
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape") stop();
  });
})();
