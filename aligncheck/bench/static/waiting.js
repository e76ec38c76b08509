// Follows one photo while it is measured: preview, outline, steps and beads as they come; then the answer's page.
(() => {
  const main = document.querySelector("main[data-job]");
  const address = `/photos/${main.dataset.job}`;
  const photo = document.getElementById("photo");
  const beads = document.querySelectorAll("[data-beads] circle");
  const steps = document.querySelectorAll("#steps li");
  const SVG = "http://www.w3.org/2000/svg";

  const preview = (state) => {
    if (!state.pictures.includes("preview") || !state.size_px) return;
    if (!photo.querySelector("img")) {
      const image = document.createElement("img");
      [image.width, image.height] = state.size_px;
      image.alt = "";
      image.src = `${address}/preview.jpg`;
      photo.append(image);
      photo.hidden = false;
    }
    if (state.corners_px && !photo.querySelector("polygon")) {
      photo.querySelector("svg")?.remove();
      const drawing = document.createElementNS(SVG, "svg");
      drawing.setAttribute("class", "outline");
      drawing.setAttribute("viewBox", `0 0 ${state.size_px.join(" ")}`);
      drawing.setAttribute("preserveAspectRatio", "none");
      drawing.setAttribute("aria-hidden", "true");
      for (const name of ["casing", "core"]) {
        const line = document.createElementNS(SVG, "polygon");
        line.setAttribute("class", name);
        line.setAttribute("points", state.corners_px.map((p) => p.join(",")).join(" "));
        drawing.append(line);
      }
      for (const [x, y] of state.corners_px) {
        const bead = document.createElementNS(SVG, "circle");
        bead.setAttribute("cx", x);
        bead.setAttribute("cy", y);
        bead.setAttribute("r", state.size_px[0] / 60);
        drawing.append(bead);
      }
      photo.append(drawing);
    }
  };

  const update = (state) => {
    if (state.state !== "waiting" && state.state !== "measuring") {
      location.replace(address);
      return true;
    }
    document.getElementById("second").textContent = state.second_line ?? state.second;
    beads.forEach((bead, k) => bead.setAttribute("class", k < state.filled ? "ink" : "hollow"));
    state.steps.forEach((step, k) => {
      steps[k].className = step.state;
      steps[k].querySelector("span").textContent = step.words;
    });
    preview(state);
    return false;
  };

  const poll = async () => {
    try {
      const answer = await fetch(`${address}/state`, { headers: { Accept: "application/json" } });
      if (answer.ok && update(await answer.json())) return;
    } catch { /* the computer may be back in a moment */ }
    setTimeout(poll, 1000);
  };

  const source = new EventSource(`${address}/events`);
  source.onmessage = (event) => { if (update(JSON.parse(event.data))) source.close(); };
  source.onerror = () => { source.close(); poll(); };
})();
