// The words of the queue in the person's language, served with the page; {n} and the like are filled in here.
const served = document.getElementById("queue");
const words = served ? JSON.parse(served.dataset.words) : {};

export function say(key, values = {}) {
  return (words[key] || key).replace(/\{(\w+)\}/g, (whole, name) => (name in values ? values[name] : whole));
}

export const clock = (at) => new Date(at).toLocaleTimeString(document.documentElement.lang, { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });
