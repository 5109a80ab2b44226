// The languages of the page.  Which one is shown is a plain radio button, so it works without scripts too.

export function buildTongue(words) {
  const choices = [...document.querySelectorAll("input[name=language]")];
  const told = [];

  function chosen() {
    const checked = choices.find((choice) => choice.checked);
    return checked === undefined ? Object.keys(words)[0] : checked.value;
  }
  function say(key, value) {
    const text = words[chosen()][key];
    return value === undefined ? text : text.replace("{}", value);
  }
  function change() {
    document.documentElement.lang = chosen();
    for (const tell of told) tell();
  }
  for (const choice of choices) choice.addEventListener("change", change);
  document.documentElement.lang = chosen();
  return { say, onChange: (tell) => told.push(tell) };
}
