// Codes and who is at the door, fetched anew every three seconds while the page is looked at.

const live = document.getElementById("live");
let shown = "";

async function look() {
  if (document.hidden || !live) return;
  const response = await fetch("/phones/live").catch(() => null);
  const text = response?.ok ? await response.text() : shown;
  if (text === shown) return;
  // Our own page from our own address, made by a template that escapes what people wrote.
  live.innerHTML = text;
  shown = text;
}

setInterval(look, 3000);
