"use strict";
// The engraved score: a click plays the voicing nearest to it, and the one that sounds stands
// on a band. Elements of voicing 12 (from 0) have the class voicing-12.
const scoreView = (play) => {
  const NEAR_PX = 60;  // clicks further than this from any chord are left alone
  const MARKED = "[class*='voicing-']";
  const sheets = [...document.querySelectorAll(".sheet")];
  const byVoicing = new Map();
  const number = (el) => Number(/voicing-(\d+)/.exec(el.getAttribute("class"))[1]);
  document.querySelectorAll(`.sheet ${MARKED}`).forEach((el) => {
    const index = number(el);
    if (!byVoicing.has(index)) byVoicing.set(index, []);
    byVoicing.get(index).push(el);
  });
  let lit = -1;
  let band = null;

  const away = (el, x, y) => {
    const box = el.getBoundingClientRect();
    const dx = Math.max(box.left - x, 0, x - box.right);
    const dy = Math.max(box.top - y, 0, y - box.bottom);
    return Math.hypot(dx, dy);
  };
  const nearest = (target, x, y) => {
    const hit = target.closest(MARKED);
    if (hit) return number(hit);
    let best = -1;
    let least = NEAR_PX;
    (target.closest(".measure") || target.closest(".sheet")).querySelectorAll(MARKED).forEach((el) => {
      const far = away(el, x, y);
      if (far < least) [best, least] = [number(el), far];
    });
    return best;
  };
  // The band goes round what stands in the bar where the voicing begins; a tied rest of it in
  // the next bar is only lit.
  const drawBand = (elements) => {
    const home = elements[0].closest(".measure");
    const boxes = elements.filter((el) => home.contains(el)).map((el) => el.getBBox());
    const left = Math.min(...boxes.map((box) => box.x));
    const top = Math.min(...boxes.map((box) => box.y));
    const bottom = Math.max(...boxes.map((box) => box.y + box.height));
    const heads = elements.find((el) => home.contains(el) && el.matches(".chord, .note"));
    const width = (heads || elements[0]).getBBox().width;
    if (!width || bottom <= top) return;  // folded away
    const air = 120;
    band = document.createElementNS(home.namespaceURI, "rect");
    const sizes = { x: left - air, y: top - air, width: width + 2 * air, height: bottom - top + 2 * air, rx: air };
    Object.entries({ class: "band", ...sizes }).forEach(([name, value]) => band.setAttribute(name, value));
    home.closest(".page-margin").prepend(band);
  };
  const light = (index) => {
    (byVoicing.get(lit) || []).forEach((el) => el.classList.remove("at"));
    if (band) band.remove();
    band = null;
    lit = index;
    const elements = byVoicing.get(index);
    if (!elements) return;
    elements.forEach((el) => el.classList.add("at"));
    drawBand(elements);
  };
  sheets.forEach((sheet) => {
    sheet.addEventListener("click", (event) => {
      const index = nearest(event.target, event.clientX, event.clientY);
      if (index >= 0) play(index);
    });
  });
  document.querySelectorAll(".score details").forEach((fold) => {
    fold.addEventListener("toggle", () => light(lit));
  });
  return { light };
};
