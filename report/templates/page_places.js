// Where everything stands: voicings and bars of the page, each with its time in the recording.
const AHEAD_S = 0.02; // a little before an onset, so that the attack itself is heard

const byId = (id) => document.getElementById(id);

// The last row that has begun at a time, by its start; -1 before the first.
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

// A part that is folded away is opened before anything in it is shown.
const bringToView = (el, block) => {
  for (let fold = el.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  el.scrollIntoView({ block });
};

// voicings: one a voicing, in order; those that are drawn once with a count share their element.
const placesOf = () => {
  const rungs = [...document.querySelectorAll(".rung")];
  const voicings = rungs.flatMap((el) => JSON.parse(el.dataset.spans).map(([start, end]) => ({ el, start, end })));
  const measures = [...document.querySelectorAll(".bar")].map((el) => ({
    el,
    start: Number(el.dataset.start),
    end: Number(el.dataset.end),
    cursor: el.querySelector(".cursor"),
    width: el.viewBox.baseVal.width,
  }));
  const firstOf = new Map();
  voicings.forEach(({ el }, i) => { if (!firstOf.has(el)) firstOf.set(el, i); });
  return { rungs, voicings, measures, firstOf };
};
