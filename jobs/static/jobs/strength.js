// The mean of the specimens while they are typed, against what is needed. The book's own answer comes with the gate.
const line = document.getElementById("mean");
const form = line.closest("form");
const number = (text) => (/^\s*\d+(?:[.,]\d+)?\s*$/.test(text) ? parseFloat(text.replace(",", ".")) : NaN);

function tell() {
  const cubes = form.querySelector('input[name="kind"][value="cube"]').checked;
  const factor = cubes ? parseFloat(form.dataset.cubeFactor) : 1;
  const broken = [...form.querySelectorAll('input[name^="specimen_"]')].map((field) => number(field.value)).filter(Number.isFinite).map((v) => v * factor);
  line.hidden = broken.length === 0;
  if (!broken.length) return;
  const mean = broken.reduce((a, b) => a + b, 0) / broken.length;
  line.querySelector("output").textContent = mean >= 1000 ? Math.round(mean).toLocaleString("en") : mean.toFixed(1);
  for (const place of line.querySelectorAll("[data-needed]")) {
    const needed = parseFloat(place.dataset.needed);
    const enough = broken.length >= 2 && mean >= needed && Math.min(...broken) >= 0.9 * needed;
    place.className = "verdict " + (enough ? "verdict-pass" : "verdict-fail");
    const { what, enough: yes, short, two } = place.dataset;
    place.textContent = `${enough ? `✓ ${yes}` : `✗ ${short}`} ${what}${broken.length < 2 ? ` (${two})` : ""}`;
  }
}

line.setAttribute("aria-live", "polite");
form.addEventListener("input", tell);
form.addEventListener("change", tell);
form.addEventListener("draft:back", tell);
tell();
