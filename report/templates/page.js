// The player: what sounds, what is lit, loops and speed. Times come from data attributes.
(() => {
  const sound = document.getElementById("sound");
  const byId = (id) => document.getElementById(id);
  const rungs = [...document.querySelectorAll(".rung")];
  const bars = [...document.querySelectorAll(".bar")];
  const span = (el) => [Number(el.dataset.start), Number(el.dataset.end)];
  const voicings = rungs.map((el) => {
    const [start, end] = span(el);
    return { el, start, end };
  });
  const measures = bars.map((el) => {
    const [start, end] = span(el);
    return { el, start, end, cursor: el.querySelector(".cursor"), width: el.viewBox.baseVal.width };
  });
  const AHEAD_S = 0.02; // a little before the onset, so that the attack itself is heard
  let stopAt = null;   // a single voicing ends here
  let loop = null;     // [first, last] voicing that repeat
  let lit = -1;
  let litBar = -1;
  let follow = false;

  const lastAtOrBefore = (rows, time) => {
    let low = 0;
    let high = rows.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (rows[middle].start <= time + 0.005) low = middle + 1; else high = middle;
    }
    return low - 1;
  };
  const clock = (s) => {
    const tenths = Math.round(s * 10);
    const seconds = String(Math.floor(tenths / 10) % 60).padStart(2, "0");
    return `${Math.floor(tenths / 600)}:${seconds}.${tenths % 10}`;
  };

  const light = (index) => {
    if (index === lit) return;
    if (lit >= 0) {
      rungs[lit].classList.remove("at");
      rungs[lit].removeAttribute("aria-current");
    }
    lit = index;
    score.light(index);
    const now = byId("now");
    now.textContent = "";
    if (index < 0) return;
    const rung = rungs[index];
    rung.classList.add("at");
    rung.setAttribute("aria-current", "true");
    const symbol = document.createElement("b");
    symbol.textContent = rung.querySelector("h3").textContent;
    now.append(symbol, rung.querySelector(".stack").textContent);
    if (follow) rung.scrollIntoView({ block: "center" });
  };
  const lightBar = (time) => {
    const index = lastAtOrBefore(measures, time);
    const inside = index >= 0 && time < measures[index].end;
    if (litBar >= 0 && (litBar !== index || !inside)) measures[litBar].el.classList.remove("at");
    litBar = inside ? index : -1;
    if (!inside) return;
    const { el, start, end, cursor, width } = measures[index];
    el.classList.add("at");
    cursor.setAttribute("transform", `translate(${((time - start) / (end - start)) * width} 0)`);
  };
  const show = () => {
    const time = sound.currentTime;
    byId("clock").textContent = clock(time);
    const index = lastAtOrBefore(voicings, time + AHEAD_S);
    light(index >= 0 && time < voicings[index].end ? index : -1);
    lightBar(time);
  };

  // The written notes, on the clock of the recording.
  const notes = JSON.parse(byId("notes").textContent).map(([start, length, midi, velocity]) => ({
    start, length, midi, level: 0.4 * (velocity / 127) ** 1.5,
  }));
  const LOOK_S = 0.15;  // notes are handed over this long before they sound
  let hearing = "recording";
  let graph = null;     // made when first needed
  let handed = 0;       // notes before this index are handed over
  let tones = [];
  let place = 0;        // where the sound was last sent
  let sought = null;    // the same, until it has arrived there
  let from = null;      // where playing began before all that is to sound was there
  const makeGraph = () => {
    const context = new AudioContext();
    const side = (input) => {
      const gain = new GainNode(context);
      const pan = new StereoPannerNode(context);
      if (input) input.connect(gain);
      gain.connect(pan).connect(context.destination);
      return { gain: gain.gain, pan: pan.pan, input: gain };
    };
    const made = { context, voice: null, recording: side(context.createMediaElementSource(sound)), notes: side(null) };
    pianoFor(context, made.notes.input).then((voice) => {
      made.voice = voice;
      byId("piano").dataset.ready = "true";
      rewind();
      beginAgain();
    });
    return made;
  };
  const quiet = () => {
    tones.forEach((tone) => tone.stop());
    tones = [];
  };
  const rewind = () => {
    quiet();
    handed = lastAtOrBefore(notes, (sought === null ? sound.currentTime : sought) - 0.01) + 1;
  };
  const strike = (note, when, seconds) => {
    const tone = graph.voice(note.midi, note.level, when, seconds);
    tone.addEventListener("ended", () => { tones = tones.filter((other) => other !== tone); });
    tones.push(tone);
  };
  const handOver = () => {
    if (hearing === "recording" || sound.seeking || !allThere()) return;
    const time = sound.currentTime;
    const rate = sound.playbackRate;
    const end = loop ? voicings[loop[1]].end : stopAt === null ? Infinity : stopAt;
    while (handed < notes.length && notes[handed].start < Math.min(time + LOOK_S * rate, end)) {
      const note = notes[handed];
      const wait = Math.max(0, (note.start - time) / rate);
      strike(note, graph.context.currentTime + wait, Math.max(note.length / rate, 0.05));
      handed += 1;
    }
  };
  const hear = (what) => {
    if (!byId("piano")) return;  // nothing was written down
    hearing = what;
    document.querySelectorAll(".hear").forEach((button) => {
      button.setAttribute("aria-pressed", String(button.dataset.hear === what));
    });
    if (what === "recording") from = null;
    if (what !== "recording" && !graph) graph = makeGraph();
    if (!graph) return;
    graph.context.resume();
    graph.recording.gain.value = what === "notes" ? 0 : 1;
    graph.notes.gain.value = what === "recording" ? 0 : 1;
    graph.recording.pan.value = what === "both" ? -1 : 0;
    graph.notes.pan.value = what === "both" ? 1 : 0;
    rewind();
  };

  const seek = (time) => {
    place = sought = Math.max(0, time);
    sound.currentTime = place;
    show();
  };
  // A browser may load the sound only once it is told to play, and only within the click: playing
  // starts at once, and begins again from the same place when sound and piano are there.
  const allThere = () => sound.readyState >= HTMLMediaElement.HAVE_METADATA
    && (hearing === "recording" || Boolean(graph?.voice));
  const play = () => {
    from = allThere() ? null : (sound.readyState ? sound.currentTime : place);
    const started = sound.play();
    if (started) started.catch(() => {});
  };
  const beginAgain = () => {
    if (from === null || !allThere()) return;
    const start = from;
    from = null;
    if (!sound.paused) seek(start);
  };
  const tick = () => {
    const time = sound.currentTime;
    if (loop && time >= voicings[loop[1]].end) seek(voicings[loop[0]].start - AHEAD_S);
    else if (stopAt !== null && from === null && time >= stopAt) { sound.pause(); stopAt = null; }
    show();
    if (sound.paused) return;
    handOver();
    requestAnimationFrame(tick);
  };
  const playSpan = (start, end) => { setLoop(null); stopAt = end; seek(start - AHEAD_S); play(); };
  const playHere = (index) => {
    playSpan(voicings[index].start, voicings[index].end);
    light(index);
  };
  const playVoicing = (index) => {
    if (index < 0 || index >= voicings.length) return;
    playHere(index);
    rungs[index].scrollIntoView({ block: "nearest" });
  };
  const score = scoreView(playHere);
  const toggle = () => {
    if (sound.paused) { stopAt = null; play(); } else sound.pause();
  };

  const setLoop = (range) => {
    loop = range;
    rungs.forEach((rung, i) => {
      const inside = Boolean(range) && i >= range[0] && i <= range[1];
      rung.querySelector(".loop").setAttribute("aria-pressed", String(inside));
    });
    byId("loop").setAttribute("aria-pressed", String(Boolean(range)));
    byId("shorter").disabled = !range || range[0] === range[1];
    byId("longer").disabled = !range || range[1] === voicings.length - 1;
  };
  const startLoop = (index) => {
    if (index < 0) return;
    stopAt = null;
    setLoop([index, index]);
    seek(voicings[index].start - AHEAD_S);
    play();
  };
  const toggleLoop = (index) => {
    if (!voicings.length) return;
    if (loop) setLoop(null);
    else startLoop(index >= 0 ? index : Math.max(0, lastAtOrBefore(voicings, sound.currentTime)));
  };
  const stretchLoop = (by) => {
    if (!loop) return;
    setLoop([loop[0], Math.min(Math.max(loop[1] + by, loop[0]), voicings.length - 1)]);
  };
  const setRate = (rate) => {
    sound.preservesPitch = true;
    sound.defaultPlaybackRate = rate;
    sound.playbackRate = rate;
    document.querySelectorAll(".speed").forEach((button) => {
      button.setAttribute("aria-pressed", String(Number(button.dataset.rate) === rate));
    });
  };
  const setFollow = (on) => {
    follow = on;
    byId("follow").setAttribute("aria-pressed", String(on));
    if (on && lit >= 0) rungs[lit].scrollIntoView({ block: "center" });
  };

  rungs.forEach((rung, i) => {
    rung.querySelector(".play").addEventListener("click", () => playVoicing(i));
    rung.querySelector(".keyboard").addEventListener("click", () => playVoicing(i));
    rung.querySelector(".loop").addEventListener("click", (event) => {
      if (loop && event.shiftKey) setLoop([Math.min(loop[0], i), Math.max(loop[1], i)]);
      else if (loop && loop[0] === i && loop[1] === i) setLoop(null);
      else startLoop(i);
    });
  });
  document.querySelectorAll(".missed .play").forEach((button) => {
    button.addEventListener("click", () => {
      playSpan(Number(button.dataset.from), Number(button.dataset.to));
    });
  });
  measures.forEach(({ el, start, end }) => {
    el.addEventListener("click", (event) => {
      const box = el.getBoundingClientRect();
      const share = Math.min(Math.max((event.clientX - box.left) / box.width, 0), 1);
      setLoop(null);
      stopAt = null;
      seek(start + share * (end - start));
      play();
    });
  });
  byId("play").addEventListener("click", toggle);
  byId("loop").addEventListener("click", () => toggleLoop(lit));
  byId("shorter").addEventListener("click", () => stretchLoop(-1));
  byId("longer").addEventListener("click", () => stretchLoop(1));
  document.querySelectorAll(".hear").forEach((button) => {
    button.addEventListener("click", () => hear(button.dataset.hear));
  });
  byId("follow").addEventListener("click", () => setFollow(!follow));
  document.querySelectorAll(".speed").forEach((button) => {
    button.addEventListener("click", () => setRate(Number(button.dataset.rate)));
  });
  const file = byId("file");
  file.addEventListener("change", () => {
    if (file.files.length) sound.src = URL.createObjectURL(file.files[0]);
  });
  const askForSound = () => { file.parentElement.hidden = false; };
  sound.addEventListener("error", askForSound);  // a browser that cannot play what is inside
  if (sound.error) askForSound();

  const step = (by) => {
    if (!voicings.length) return;
    const here = lit >= 0 ? lit : lastAtOrBefore(voicings, sound.currentTime) + (by < 0 ? 1 : 0);
    playVoicing(Math.min(Math.max(here + by, 0), voicings.length - 1));
  };
  const keys = {
    " ": toggle,
    ArrowLeft: (event) => (event.shiftKey ? stretchLoop(-1) : step(-1)),
    ArrowRight: (event) => (event.shiftKey ? stretchLoop(1) : step(1)),
    l: () => toggleLoop(lit),
    h: () => setRate(sound.playbackRate === 0.5 ? 1 : 0.5),
    f: () => setFollow(!follow),
    n: () => hear({ recording: "notes", notes: "both", both: "recording" }[hearing]),
    Escape: () => setLoop(null),
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, summary") || (event.key === " " && event.target.closest("button, a"))) return;
    const act = keys[event.key] || keys[event.key.toLowerCase()];
    if (!act) return;
    event.preventDefault();
    act(event);
  });
  sound.addEventListener("play", () => {
    rewind();
    byId("play").setAttribute("aria-label", "Pause");
    byId("play").firstElementChild.textContent = "\u275a\u275a";
    requestAnimationFrame(tick);
  });
  sound.addEventListener("seeked", () => {
    if (sound.seeking) return;  // sent on meanwhile
    rewind();  // from where it was sent: on a busy machine it plays on before this is called
    sought = null;
  });
  sound.addEventListener("loadedmetadata", beginAgain);
  sound.addEventListener("pause", () => {
    quiet();
    byId("play").setAttribute("aria-label", "Play");
    byId("play").firstElementChild.textContent = "\u25b6\ufe0e";
    show();
  });
})();
