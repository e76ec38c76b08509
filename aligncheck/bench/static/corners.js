// Four rings to drag onto the panel's corners, with a lens that shows what lies under the finger.
(() => {
  const frame = document.getElementById("corners");
  const image = frame.querySelector("img");
  const lens = frame.querySelector("canvas");
  const handles = [...frame.querySelectorAll(".handle")];
  const lines = frame.querySelectorAll("polygon");
  const values = document.getElementById("corner-values");
  const said = document.getElementById("corner-said");
  const width = Number(frame.dataset.width), height = Number(frame.dataset.height);
  const points = handles.map((h) => [Number(h.dataset.x), Number(h.dataset.y)]);
  // The lens shows so many times what the page shows.
  const TIMES = 3;

  const draw = () => {
    handles.forEach((handle, k) => {
      handle.style.left = `${(100 * (points[k][0] + 0.5)) / width}%`;
      handle.style.top = `${(100 * (points[k][1] + 0.5)) / height}%`;
    });
    const text = points.map((p) => p.map((v) => v.toFixed(1)).join(",")).join(" ");
    lines.forEach((line) => line.setAttribute("points", text));
    values.value = text;
  };

  const look = (k) => {
    const [x, y] = points[k];
    const shown = image.clientWidth / width;
    const across = lens.clientWidth / (shown * TIMES) || 100;
    const toImage = image.naturalWidth / width;
    const context = lens.getContext("2d");
    const size = lens.width;
    context.fillStyle = "#15130F";
    context.fillRect(0, 0, size, size);
    context.drawImage(image, (x + 0.5 - across / 2) * toImage, (y + 0.5 - across / 2) * toImage, across * toImage, across * toImage, 0, 0, size, size);
    for (const [colour, wide] of [["#15130F", 5], ["#FBF7EC", 2]]) {
      context.strokeStyle = colour;
      context.lineWidth = wide;
      context.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        context.moveTo(size / 2 + dx * 10, size / 2 + dy * 10);
        context.lineTo(size / 2 + dx * 42, size / 2 + dy * 42);
      }
      context.stroke();
    }
    // Always on the side where the finger is not.
    const right = x < width / 2;
    lens.classList.toggle("right", right);
    lens.classList.toggle("left", !right);
  };

  const move = (k, x, y) => {
    points[k] = [Math.min(width - 1, Math.max(0, x)), Math.min(height - 1, Math.max(0, y))];
    draw();
    look(k);
  };

  handles.forEach((handle, k) => {
    let start = null;
    handle.addEventListener("pointerdown", (event) => {
      handle.setPointerCapture(event.pointerId);
      // A corner moves by as much as the finger does: it does not jump under it.
      start = { x: event.clientX, y: event.clientY, point: points[k] };
      lens.hidden = false;
      look(k);
      event.preventDefault();
      handle.focus({ preventScroll: true });
    });
    handle.addEventListener("pointermove", (event) => {
      if (!start) return;
      const scale = width / image.clientWidth;
      move(k, start.point[0] + (event.clientX - start.x) * scale, start.point[1] + (event.clientY - start.y) * scale);
    });
    for (const name of ["pointerup", "pointercancel"]) {
      handle.addEventListener(name, () => { start = null; lens.hidden = true; });
    }
    handle.addEventListener("keydown", (event) => {
      const step = (event.shiftKey ? 20 : 2) * (width / 2000);
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!way) return;
      event.preventDefault();
      lens.hidden = false;
      move(k, points[k][0] + way[0] * step, points[k][1] + way[1] * step);
      said.textContent = points[k].map(Math.round).join(", ");
    });
    handle.addEventListener("blur", () => { lens.hidden = true; });
  });
  draw();
})();
