// Codes and who is at the door, fetched anew every three seconds while the page is looked at.

const live = document.getElementById("live");

async function look() {
  if (document.hidden || !live) return;
  const response = await fetch("/phones/live").catch(() => null);
  const text = response?.ok ? await response.text() : null;
  if (text !== null && text !== live.dataset.shown) {
    // Our own page from our own address: a template that escapes what people wrote.
    live.innerHTML = text;
    live.dataset.shown = text;
  }
}

setInterval(look, 3000);
