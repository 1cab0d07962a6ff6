// Back to a form that was refused, as it was filled in; without script the link opens the page anew.

for (const link of document.querySelectorAll("a[data-back]")) {
  link.addEventListener("click", (event) => {
    if (history.length < 2) return;
    event.preventDefault();
    history.back();
  });
}
