// What is lit while it sounds: a voicing, its bar with a cursor, its chord in the score.
const lightsOf = ({ voicings, measures }, score) => {
  let lit = -1;
  let litBar = -1;
  let follow = false;

  const darken = () => {
    if (lit < 0) return;
    voicings[lit].el.classList.remove("at");
    voicings[lit].el.removeAttribute("aria-current");
  };
  const say = (rung) => {
    const now = byId("now");
    now.textContent = "";
    if (!rung) return;
    const symbol = document.createElement("b");
    symbol.textContent = rung.querySelector("h3").textContent;
    now.append(symbol, rung.querySelector(".stack").textContent);
  };
  const light = (index) => {
    if (index === lit) return;
    darken();
    lit = index;
    score.light(index);
    const rung = index < 0 ? null : voicings[index].el;
    say(rung);
    if (!rung) return;
    rung.classList.add("at");
    rung.setAttribute("aria-current", "true");
    if (follow) bringToView(rung, "center");
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
  // within: first and last voicing that may be lit (one that is played alone, a loop), or null.
  // Without it a short voicing would hand its light to the next one before it has ended.
  const show = (time, within) => {
    byId("clock").textContent = clock(time);
    const index = lastAtOrBefore(voicings, time + AHEAD_S);
    if (within) light(Math.min(Math.max(index, within[0]), within[1]));
    else light(index >= 0 && time < voicings[index].end ? index : -1);
    lightBar(time);
  };
  const setFollow = (on) => {
    follow = on;
    byId("follow").setAttribute("aria-pressed", String(on));
    if (on && lit >= 0) bringToView(voicings[lit].el, "center");
  };
  return { show, lit: () => lit, setFollow, follows: () => follow };
};
