// Buttons and keys, and the hands they reach for.
(() => {
  const sound = byId("sound");
  const places = placesOf();
  const score = scoreView((index) => player.playOne(index));
  const lights = lightsOf(places, score);
  const player = playerOf(sound, places, lights);

  const onClick = (selector, act) => document.querySelectorAll(selector).forEach((el) => {
    el.addEventListener("click", (event) => act(el, event));
  });
  places.rungs.forEach((rung) => {
    const first = places.firstOf.get(rung);
    const playIt = () => player.playVoicing(first);
    rung.querySelector(".play").addEventListener("click", playIt);
    rung.querySelector(".keyboard").addEventListener("click", playIt);
    rung.querySelector(".loop").addEventListener("click", (event) => player.loopRung(rung, event.shiftKey));
  });
  onClick("[data-from]", (el) => player.playSpan(Number(el.dataset.from), Number(el.dataset.to)));
  onClick("[data-loop]", (el) => player.loopOver(...el.dataset.loop.split(" ").map(Number)));
  places.measures.forEach(({ el, start, end }) => {
    el.addEventListener("click", (event) => {
      const box = el.getBoundingClientRect();
      const share = Math.min(Math.max((event.clientX - box.left) / box.width, 0), 1);
      player.playFrom(start + share * (end - start), null);
    });
  });
  onClick("#play", player.toggle);
  onClick("#loop", player.toggleLoop);
  onClick("#shorter", () => player.stretchLoop(-1));
  onClick("#longer", () => player.stretchLoop(1));
  onClick(".hear", (el) => player.hear(el.dataset.hear));
  const toggleFollow = () => lights.setFollow(!lights.follows());
  onClick("#follow", toggleFollow);
  onClick("#rooted", player.toggleRoots);
  onClick("[data-over]", (el) => player.sampleOver(el.dataset.stack.split(" ").map(Number), Number(el.dataset.over)));
  onClick(".speed", (el) => player.setRate(Number(el.dataset.rate)));
  byId("volume").addEventListener("input", (event) => player.setVolume(Number(event.target.value) ** 2));

  const toggleNames = () => {
    const shown = document.body.classList.toggle("names");
    byId("names").setAttribute("aria-pressed", String(shown));
  };
  onClick("#names", toggleNames);
  const filter = byId("filter");
  if (filter) filter.addEventListener("change", () => {
    places.rungs.forEach((rung) => {
      rung.hidden = Boolean(filter.value) && !rung.dataset.kinds.split(" ").includes(filter.value);
    });
    document.querySelectorAll("details.part:has(.rung)").forEach((part) => {
      if (filter.value) part.open = true;
      part.hidden = !part.querySelector(".rung:not([hidden])");
    });
  });
  const openTarget = () => {
    const target = location.hash === "" ? null : document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (target?.closest("details.part")) bringToView(target, "start");
  };
  window.addEventListener("hashchange", openTarget);
  openTarget();

  const file = byId("file");
  file.addEventListener("change", () => {
    if (file.files.length) sound.src = URL.createObjectURL(file.files[0]);
  });
  const askForSound = () => { file.parentElement.hidden = false; };
  sound.addEventListener("error", askForSound); // a browser that cannot play what is inside
  if (sound.error) askForSound();

  const keys = {
    " ": player.toggle,
    ArrowLeft: (event) => (event.shiftKey ? player.stretchLoop(-1) : player.step(-1)),
    ArrowRight: (event) => (event.shiftKey ? player.stretchLoop(1) : player.step(1)),
    l: player.toggleLoop,
    h: () => player.setRate(sound.playbackRate === 0.5 ? 1 : 0.5),
    f: toggleFollow,
    n: () => player.hear({ recording: "notes", notes: "both", both: "recording" }[player.hears()]),
    r: player.toggleRoots,
    d: toggleNames,
    Escape: () => player.setLoop(null),
  };
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("input, select, summary")) return;
    const sheet = event.target.closest(".sheet");
    if (event.key.startsWith("Arrow") && sheet && sheet.scrollWidth > sheet.clientWidth) return; // it scrolls
    if (event.key === " " && event.target.closest("button, a")) return;
    const act = keys[event.key] || keys[event.key.toLowerCase()];
    if (!act) return;
    event.preventDefault();
    act(event);
  });
})();
