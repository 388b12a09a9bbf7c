// On a narrow page text lies between the lines of the voices and the next keyboard: the degrees that
// they lead to stand right below them. Copied from that keyboard when it comes near the screen, for
// a long take would carry thousands that nobody sees.
(() => {
  const NEAR = "800px";  // made before it is scrolled to
  const BLACK_ABOVE = 60; // degrees that stand higher are on black keys
  const SVG = document.querySelector("svg").namespaceURI;

  const drawn = (name, attributes, text = "") => {
    const el = document.createElementNS(SVG, name);
    Object.entries(attributes).forEach(([key, value]) => el.setAttribute(key, value));
    el.textContent = text;
    return el;
  };
  const degreesOf = (keyboard) => [...keyboard.querySelectorAll(".m")].map((marker) => {
    const text = marker.querySelector("text");
    const role = ["guide", "tension", "plain"].find((one) => marker.classList.contains(one));
    const y = Number(text.getAttribute("y")) < BLACK_ABOVE ? 13 : 29;
    return drawn("text", { class: role, x: text.getAttribute("x"), y }, text.textContent);
  });
  const stripFor = (next) => {
    const keyboard = next.querySelector(".keyboard");
    const strip = document.createElement("div");
    strip.className = "onward";
    strip.setAttribute("aria-hidden", "true");
    const svg = drawn("svg", { viewBox: `0 0 ${keyboard.viewBox.baseVal.width} 34` });
    svg.append(...degreesOf(keyboard));
    const symbol = document.createElement("b");
    symbol.textContent = next.querySelector("h3").textContent;
    const line = document.createElement("p");
    line.append("then ", symbol);
    strip.append(svg, line);
    return strip;
  };
  const watch = () => {
    const rungs = [...document.querySelectorAll(".rung")];
    const after = new Map(rungs.map((rung, i) => [rung, rungs[i + 1]]));
    const near = new IntersectionObserver((seen) => seen.forEach(({ target, isIntersecting }) => {
      if (!isIntersecting) return;
      near.unobserve(target);
      target.querySelector(".lines").after(stripFor(after.get(target)));
    }), { rootMargin: NEAR });
    rungs.forEach((rung) => {
      if (after.get(rung) && rung.querySelector(".lines")) near.observe(rung);
    });
  };
  const narrow = matchMedia("(max-width: 62rem)");
  if (narrow.matches) watch();
  else narrow.addEventListener("change", watch, { once: true });
})();
