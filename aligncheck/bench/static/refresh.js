// Puts the page's new content in place when there is news: the overview of a class, the overhead camera.
(() => {
  const main = document.querySelector("main[data-refresh]");
  let first = true, waiting = false;
  const fetchAnew = async () => {
    if (waiting) return;
    waiting = true;
    try {
      const answer = await fetch(location.href);
      if (answer.ok) {
        const page = new DOMParser().parseFromString(await answer.text(), "text/html");
        const fresh = page.querySelector("main[data-refresh]");
        // Whoever is writing into a form is left in peace.
        if (fresh && !main.contains(document.activeElement?.closest("input, select") ?? null)) main.replaceChildren(...fresh.childNodes);
      }
    } catch { /* tried again with the next news */ }
    waiting = false;
  };
  const listen = () => {
    const source = new EventSource(main.dataset.refresh);
    source.onmessage = () => { if (!first) fetchAnew(); first = false; };
    source.onerror = () => { source.close(); first = false; setTimeout(listen, 2000); };
  };
  listen();
})();
