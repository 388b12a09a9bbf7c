// A deck of cards: what is missed comes again three cards later, until all were right once.
(() => {
  const AGAIN_AFTER = 3;
  const LEVELS = { sounds: 0.16, roots: 0.2 };
  const byId = (id) => document.getElementById(id);
  const cards = JSON.parse(byId("cards").textContent);
  const deck = cards.map((_, i) => i);
  const missed = new Set();
  let graph = null; // made within a click: browsers let no page sound before one
  let tones = [];
  let right = 0;
  let asked = 0;
  let isAnswered = false;

  const makeGraph = () => {
    const context = new AudioContext();
    const output = new GainNode(context);
    output.connect(context.destination);
    return { context, output, ready: pianoFor(context) };
  };
  const hear = () => {
    if (!graph) graph = makeGraph();
    graph.context.resume();
    tones.forEach((tone) => tone.stop());
    tones = [];
    const card = cards[deck[0]];
    graph.ready.then((voice) => {
      const now = graph.context.currentTime + 0.03;
      Object.entries(LEVELS).forEach(([kind, level]) => {
        card[kind].forEach(([start, length, midi]) => {
          tones.push(voice(midi, level, now + start, length, graph.output));
        });
      });
      byId("hear").dataset.sounded = String(tones.length);
    });
  };
  const count = () => {
    byId("count").textContent = `${right} of ${asked} right at first; ${deck.length} to go`;
  };
  const show = () => {
    isAnswered = false;
    byId("why").textContent = "";
    byId("next").hidden = true;
    byId("choices").replaceChildren();
    if (!deck.length) {
      byId("ask").textContent = `All done: ${right} of ${cards.length} right at first.`;
      byId("hear").hidden = true;
      return;
    }
    const card = cards[deck[0]];
    byId("ask").textContent = card.ask;
    card.choices.forEach((choice, i) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = choice;
      button.addEventListener("click", () => answer(i));
      byId("choices").append(button);
    });
  };
  const answer = (i) => {
    if (isAnswered || !deck.length || i >= cards[deck[0]].choices.length) return;
    isAnswered = true;
    const [number] = deck;
    const card = cards[number];
    const buttons = [...byId("choices").children];
    buttons[card.right].classList.add("right");
    if (i !== card.right) buttons[i].classList.add("wrong");
    if (!missed.has(number)) {
      asked += 1;
      if (i === card.right) right += 1;
    }
    deck.shift();
    if (i !== card.right) {
      missed.add(number);
      deck.splice(AGAIN_AFTER, 0, number);
    }
    byId("why").textContent = card.why;
    byId("next").hidden = false;
    byId("next").focus();
    count();
  };
  const next = () => {
    if (!isAnswered) return;
    show();
    byId("hear").focus();
  };
  byId("hear").addEventListener("click", hear);
  byId("next").addEventListener("click", next);
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.closest("summary")) return;
    if (event.key >= "1" && event.key <= "4") answer(Number(event.key) - 1);
    else if (event.key === " " && !event.target.closest("button") && deck.length) { event.preventDefault(); hear(); }
  });
  show();
})();
