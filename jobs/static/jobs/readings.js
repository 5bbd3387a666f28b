// What the pages of readings share: a number as typed, a reading against its band, the words beside its field.

export const sayWith = (words) => (key, values = {}) => words[key].replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
export const short = (value) => String(Number(value.toPrecision(3)));

// A plain number or a fraction; with a unit of its own it is left to the book.
export function number(text) {
  const plain = text.trim().replace("−", "-").replace(",", ".");
  if (/^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain)) return Number(plain);
  const parts = plain.match(/^(?:(\d+)[ -])?(\d+)\/(\d+)$/);
  return parts && Number(parts[3]) ? Number(parts[1] || 0) + Number(parts[2]) / Number(parts[3]) : null;
}

// `band`: {aim, off}, in the units of the page.
export function against(band, value) {
  const off = value - band.aim;
  return Math.abs(off) <= band.off * (1 + 1e-9) ? "in" : off > 0 ? "over" : "under";
}

function chip(input) {
  let said = input.parentElement.querySelector("output");
  if (!said) {
    said = document.createElement("output");
    said.htmlFor = input.id;
    said.setAttribute("aria-live", "polite");
    input.after(said);
  }
  return said;
}

export function mark(input, tone, text) {
  const said = chip(input);
  said.className = tone ? `verdict verdict-${tone}` : "";
  said.textContent = text;
}

// Says beside the field whether what is typed is in its band; nothing where it is empty or left to the book.
export function markAgainst(input, band, say) {
  const value = number(input.value);
  if (value === null) { mark(input, "", ""); return; }
  const how = against(band, value);
  mark(input, how === "in" ? "pass" : "fail", how === "in" ? `✓ ${say("in")}` : `✗ ${say(how, { most: short(band.aim + band.off), least: short(band.aim - band.off) })}`);
}

// The verdict of this tablet on what waits here: a section with a head, and a line for each thing that is out.
export function answer(section, title, findings, say) {
  section.hidden = false;
  section.className = `answer ${findings.length ? "tone-fail" : "tone-pass"}`;
  const head = document.createElement("h2"), under = document.createElement("small"), list = document.createElement("ul");
  head.textContent = findings.length ? `✗ ${say("outOfTolerance")}` : `✓ ${say("inTolerance")}`;
  under.textContent = `${title}; ${say("onTablet")}`;
  head.append(under);
  for (const finding of findings) {
    const item = document.createElement("li");
    item.textContent = finding;
    list.append(item);
  }
  section.replaceChildren(head, list);
}

export function halt(stop) {
  stop.hidden = false;
  stop.scrollIntoView();
  stop.tabIndex = -1;
  stop.focus();
}

export const sent = (entry) => (name) => (entry.pairs.find(([key]) => key === name) || ["", ""])[1];
