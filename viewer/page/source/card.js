// The card of a part that was tapped: its name in plain words, one sentence, its numbers.

export function buildCard(box, tongue) {
  const title = box.querySelector("h3");
  const sentence = box.querySelector("p");
  const list = box.querySelector("dl");
  const closer = box.querySelector("button");
  let shown = null;
  let closed = () => {};

  function write() {
    const kind = shown.kind;
    closer.setAttribute("aria-label", tongue.say("close"));
    title.textContent = tongue.say(`part_${kind}`, shown.name);
    sentence.textContent = tongue.say(`about_${kind}`);
    list.replaceChildren();
    for (const [key, value, pattern] of shown.numbers) {
      const term = document.createElement("dt");
      const number = document.createElement("dd");
      term.textContent = tongue.say(key);
      number.textContent = pattern ? tongue.say(pattern, value) : value;
      list.append(term, number);
    }
    box.dataset.shown = shown.id;
  }
  function close() {
    shown = null;
    box.hidden = true;
    delete box.dataset.shown;
    closed();
  }
  closer.addEventListener("click", close);
  return {
    show(part) {
      if (part === null) {
        close();
        return;
      }
      shown = part;
      write();
      box.hidden = false;
    },
    repeat() {
      if (shown !== null) write();
    },
    close,
    onClose(tell) {
      closed = tell;
    },
  };
}
