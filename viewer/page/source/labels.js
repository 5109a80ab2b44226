// Words over the picture.  The most wanted come first; one that would lie on another, or outside, is left out.
import { Vector3 } from "three";

const GAP = 4;
// Length of the line from a word down to its place, as in page.css.
const STEM_PX = 22;

export function buildLabels(layer, tongue) {
  let labels = [];

  function write(wanted) {
    layer.replaceChildren();
    labels = wanted.map(({ key, text, at }) => {
      const element = document.createElement("span");
      element.textContent = key ? tongue.say(key, text) : text;
      layer.append(element);
      return { element, at: new Vector3(...at), wide: 0, tall: 0, isHidden: false };
    });
    for (const label of labels) {
      label.wide = label.element.offsetWidth;
      label.tall = label.element.offsetHeight;
    }
  }
  function hide(isHidden) {
    for (const label of labels) label.isHidden = isHidden(label.at);
  }
  function place(camera, width, height) {
    const taken = [];
    for (const label of labels) {
      const seen = label.at.clone().project(camera);
      const x = ((seen.x + 1) / 2) * width - label.wide / 2;
      const y = ((1 - seen.y) / 2) * height - label.tall - STEM_PX;
      const box = [x - GAP, y - GAP, x + label.wide + GAP, y + label.tall + STEM_PX];
      const isIn = seen.z > -1 && seen.z < 1 && box[0] >= 0 && box[1] >= 0 && box[2] <= width && box[3] <= height;
      const isFree = taken.every((o) => box[2] <= o[0] || box[0] >= o[2] || box[3] <= o[1] || box[1] >= o[3]);
      const isShown = isIn && isFree && !label.isHidden;
      label.element.style.visibility = isShown ? "visible" : "hidden";
      if (isShown) {
        taken.push(box);
        label.element.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`;
      }
    }
  }
  return { write, hide, place };
}
