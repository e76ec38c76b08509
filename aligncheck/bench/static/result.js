// The answer: pinch and pan in the picture, the flat view's button when it is ready, the word when it is kept.
(() => {
  const main = document.querySelector("main[data-job]");
  const address = `/photos/${main.dataset.job}`;
  const frame = document.getElementById("picture");
  const inner = frame.querySelector(".zoomed");
  const flat = document.getElementById("flat");
  const kept = document.getElementById("kept");

  if ((flat && flat.hidden) || (kept && kept.dataset.state === "keeping")) {
    const source = new EventSource(`${address}/events`);
    source.onmessage = (event) => {
      const state = JSON.parse(event.data);
      if (flat && state.pictures.includes("flat-dark")) flat.hidden = false;
      if (state.kept && state.kept !== "keeping") { source.close(); if (kept) location.reload(); }
      if (!kept && state.pictures.includes("flat-dark")) source.close();
    };
    source.onerror = () => source.close();
  }

  let scale = 1, left = 0, top = 0, moved = false;
  const fingers = new Map();
  const place = () => {
    const { clientWidth: width, clientHeight: height } = frame;
    left = Math.min(0, Math.max(width * (1 - scale), left));
    top = Math.min(0, Math.max(height * (1 - scale), top));
    inner.style.transform = scale === 1 ? "" : `translate(${left}px, ${top}px) scale(${scale})`;
    frame.classList.toggle("close-up", scale > 1);
  };
  const zoom = (x, y, factor) => {
    const wanted = Math.min(6, Math.max(1, scale * factor));
    left = x - ((x - left) * wanted) / scale;
    top = y - ((y - top) * wanted) / scale;
    scale = wanted;
    place();
  };
  const at = (event) => {
    const box = frame.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const spread = () => {
    const [a, b] = [...fingers.values()];
    return { x: (a[0] + b[0]) / 2, y: (a[1] + b[1]) / 2, far: Math.hypot(a[0] - b[0], a[1] - b[1]) };
  };

  frame.addEventListener("pointerdown", (event) => { fingers.set(event.pointerId, at(event)); moved = false; });
  frame.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) return;
    const now = at(event);
    if (fingers.size === 2) {
      const was = spread();
      fingers.set(event.pointerId, now);
      const is = spread();
      left += is.x - was.x;
      top += is.y - was.y;
      if (was.far > 0) zoom(is.x, is.y, is.far / was.far);
      moved = true;
    } else if (scale > 1) {
      left += now[0] - before[0];
      top += now[1] - before[1];
      if (Math.hypot(now[0] - before[0], now[1] - before[1]) > 2) moved = true;
      fingers.set(event.pointerId, now);
      place();
    }
  });
  for (const name of ["pointerup", "pointercancel", "pointerleave"]) {
    frame.addEventListener(name, (event) => fingers.delete(event.pointerId));
  }
  frame.addEventListener("click", (event) => { if (moved) event.preventDefault(); }, true);
  frame.addEventListener("dragstart", (event) => event.preventDefault());
  frame.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    zoom(...at(event), Math.exp(-event.deltaY / 200));
  }, { passive: false });
  frame.addEventListener("dblclick", (event) => {
    event.preventDefault();
    zoom(...at(event), scale > 1 ? 1 / scale : 2.5);
  });
})();
