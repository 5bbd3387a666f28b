// Counts down to the moment in data-until: minutes and seconds left, and how long it is over.
const shown = [...document.querySelectorAll("[data-until]")];

function words(seconds, over) {
  const left = Math.abs(Math.round(seconds));
  const text = `${Math.floor(left / 60)}:${String(left % 60).padStart(2, "0")}`;
  return seconds < 0 ? `${text} ${over}` : text;
}

function tick() {
  for (const place of shown) {
    const seconds = (Date.parse(place.dataset.until) - Date.now()) / 1000;
    place.firstChild.textContent = words(seconds, place.dataset.over);
    place.classList.toggle("over", seconds < 0);
  }
}

if (shown.length) {
  tick();
  setInterval(tick, 1000);
}
