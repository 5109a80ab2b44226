// The client's page: starts the picture that turns, once the plain page stands.
import { readData } from "./data.js";
import { buildStage } from "./stage.js";
import { buildCard } from "./card.js";
import { buildTongue } from "./tongue.js";

function start() {
  const root = document.documentElement;
  root.classList.add("scripted");
  const data = readData();
  const tongue = buildTongue(data.words);
  const box = document.getElementById("stage");
  const ways = [...document.querySelectorAll("[data-way]")];
  const buttons = [...document.querySelectorAll("[data-view]")];
  const card = buildCard(document.getElementById("card"), tongue);
  let stage = null;

  function choose(number) {
    for (const way of ways) {
      const isChosen = Number(way.dataset.way) === number;
      way.classList.toggle("chosen", isChosen);
      if (way.matches("a")) way.setAttribute("aria-current", String(isChosen));
    }
    card.close();
    if (stage !== null) stage.showWay(number);
  }
  function look(view) {
    for (const button of buttons) button.setAttribute("aria-pressed", String(button.dataset.view === view));
    stage.lookFrom(view);
  }
  for (const way of ways.filter((one) => one.matches("a"))) {
    way.addEventListener("click", (event) => {
      event.preventDefault();
      choose(Number(way.dataset.way));
      box.scrollIntoView({ block: "nearest" });
    });
  }
  choose(0);

  try {
    stage = buildStage(box, data, tongue, card.show);
  } catch (fault) {
    // Some browsers have no WebGL: pictures and figures stay as they are.
    document.getElementById("no-turning").hidden = false;
    return;
  }
  root.classList.add("turning");
  card.onClose(() => stage.unmark());
  for (const button of buttons) button.addEventListener("click", () => look(button.dataset.view));
  for (const button of document.querySelectorAll("[data-part]")) {
    button.addEventListener("click", () => {
      stage.showPart(button.dataset.part);
      box.scrollIntoView({ block: "nearest" });
    });
  }
  tongue.onChange(() => {
    card.repeat();
    stage.relabel();
  });
  stage.showWay(0);
  look("all");
  root.dataset.ready = "yes";
  // For whoever tries the page by machine: where the eye is, and where on the screen a part is seen.
  window.evenfall = { eye: stage.tellEye, spot: stage.findSpot };
}

start();
