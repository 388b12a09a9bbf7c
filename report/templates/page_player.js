// The player: where the sound is sent, what ends it, what repeats, how fast it goes.
const playerOf = (sound, { rungs, voicings, firstOf }, lights) => {
  let single = null; // the one voicing that is played alone
  let stopAt = null; // a passage ends here
  let loop = null;   // [first, last] voicing that repeat
  let place = 0;     // where the sound was last sent
  let sought = null; // the same, until it has arrived there
  let from = null;   // where playing began before all that is to sound was there

  const allThere = () => sound.readyState >= HTMLMediaElement.HAVE_METADATA && notes.isThere();
  const rewind = () => notes.rewind(sought === null ? sound.currentTime : sought);
  const within = () => loop || (single === null ? null : [single, single]);
  const show = () => lights.show(sound.currentTime, within());

  const seek = (time) => {
    place = sought = Math.max(0, time);
    sound.currentTime = place;
    show();
  };
  // A browser may load the sound only once it is told to play, and only within the click: playing
  // starts at once, and begins again from the same place when sound and piano are there.
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
  const notes = notesOf(sound, () => { rewind(); beginAgain(); });

  const endOfAll = () => {
    if (loop) return voicings[loop[1]].end;
    return stopAt === null ? Infinity : stopAt;
  };
  const tick = () => {
    const time = sound.currentTime;
    if (loop && time >= voicings[loop[1]].end) seek(voicings[loop[0]].start - AHEAD_S);
    else if (stopAt !== null && from === null && time >= stopAt) { sound.pause(); stopAt = null; }
    show();
    if (sound.paused) return;
    if (!sound.seeking && allThere()) notes.handOver(endOfAll());
    requestAnimationFrame(tick);
  };

  const setLoop = (range) => {
    loop = range;
    const inside = new Set(range ? voicings.slice(range[0], range[1] + 1).map(({ el }) => el) : []);
    rungs.forEach((rung) => rung.querySelector(".loop").setAttribute("aria-pressed", String(inside.has(rung))));
    byId("loop").setAttribute("aria-pressed", String(Boolean(range)));
    byId("shorter").disabled = !range || range[0] === range[1];
    byId("longer").disabled = !range || range[1] === voicings.length - 1;
  };
  const playFrom = (start, end) => {
    single = null;
    setLoop(null);
    stopAt = end;
    seek(start);
    play();
  };
  const playSpan = (start, end) => playFrom(start - AHEAD_S, end);
  const playOne = (index) => {
    if (index < 0 || index >= voicings.length) return;
    const { start, end } = voicings[index];
    setLoop(null);
    single = index;
    stopAt = end;
    seek(start - AHEAD_S);
    play();
  };
  const playVoicing = (index) => {
    if (index < 0 || index >= voicings.length) return;
    playOne(index);
    bringToView(voicings[index].el, "nearest");
  };
  const toggle = () => {
    if (!sound.paused) { sound.pause(); return; }
    single = stopAt = null;
    play();
  };
  const loopOver = (first, last) => {
    single = stopAt = null;
    setLoop([first, last]);
    seek(voicings[first].start - AHEAD_S);
    play();
  };
  const here = () => {
    if (single !== null) return single;
    return lights.lit() >= 0 ? lights.lit() : lastAtOrBefore(voicings, sound.currentTime);
  };
  const toggleLoop = () => {
    if (!voicings.length) return;
    if (!loop) loopOver(Math.max(0, here()), Math.max(0, here()));
    else setLoop(null);
  };
  const loopRung = (rung, isWider) => {
    const first = firstOf.get(rung);
    const last = voicings.findLastIndex(({ el }) => el === rung);
    if (loop && isWider) setLoop([Math.min(loop[0], first), Math.max(loop[1], last)]);
    else if (loop && loop[0] === first && loop[1] === last) setLoop(null);
    else loopOver(first, last);
  };
  const stretchLoop = (by) => {
    if (!loop) return;
    setLoop([loop[0], Math.min(Math.max(loop[1] + by, loop[0]), voicings.length - 1)]);
  };
  const step = (by) => {
    if (!voicings.length) return;
    const between = single === null && lights.lit() < 0;
    playVoicing(Math.min(Math.max(here() + (between && by < 0 ? 0 : by), 0), voicings.length - 1));
  };
  const setRate = (rate) => {
    sound.preservesPitch = true;
    sound.defaultPlaybackRate = rate;
    sound.playbackRate = rate;
    document.querySelectorAll(".speed").forEach((button) => {
      button.setAttribute("aria-pressed", String(Number(button.dataset.rate) === rate));
    });
  };
  const hear = (what) => {
    notes.hear(what);
    if (what === "recording") from = null;
    rewind();
  };

  const toggleRoots = () => {
    notes.toggleRoots();
    rewind();
  };

  const say = (label, sign) => {
    byId("play").setAttribute("aria-label", label);
    byId("play").firstElementChild.textContent = sign;
  };
  sound.addEventListener("play", () => {
    rewind();
    say("Pause", "\u275a\u275a");
    requestAnimationFrame(tick);
  });
  sound.addEventListener("seeked", () => {
    if (sound.seeking) return; // sent on meanwhile
    rewind(); // from where it was sent: on a busy machine it plays on before this is called
    sought = null;
  });
  sound.addEventListener("loadedmetadata", () => {
    byId("total").textContent = Number.isFinite(sound.duration) ? clock(sound.duration) : "";
    beginAgain();
  });
  sound.addEventListener("pause", () => {
    notes.quiet();
    say("Play", "\u25b6\ufe0e");
    show();
  });
  return {
    toggle, playFrom, playSpan, playOne, playVoicing, step, setLoop, loopOver, loopRung, toggleLoop, stretchLoop,
    setRate, hear, hears: notes.hears, setVolume: notes.setVolume, toggleRoots, sampleOver: notes.sampleOver,
  };
};
