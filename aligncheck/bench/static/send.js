// Sends a photo: shows it at once, says how much has gone, and keeps it for another try when the computer is away.
(() => {
  const words = document.getElementById("words").dataset;
  const page = document.getElementById("page");
  const view = document.getElementById("sending");
  const head = document.getElementById("sending-head");
  const second = document.getElementById("sending-second");
  const shown = document.getElementById("sending-photo");
  const failed = document.getElementById("sending-failed");
  let last = null;

  const show = (title, line, isFailed) => {
    head.textContent = title;
    second.textContent = line;
    failed.hidden = !isFailed;
  };

  const send = (form, file) => {
    last = { form, file };
    const limit = Number(form.dataset.limit || 0);
    page.hidden = true;
    view.hidden = false;
    if (shown.src) URL.revokeObjectURL(shown.src);
    shown.src = URL.createObjectURL(file);
    // A phone's own format that this browser cannot show is measured all the same.
    shown.onerror = () => { shown.hidden = true; };
    shown.hidden = false;
    window.scrollTo(0, 0);
    head.focus();
    if (limit && file.size > limit) {
      show(words.notmeasured, words.toolarge.replace("{limit}", Math.floor(limit / 1e6)), true);
      return;
    }
    show(words.sending, "", false);
    const data = new FormData(form);
    data.delete("photo");
    data.append("photo", file, "photo");
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("Accept", "application/json");
    request.upload.onprogress = (event) => {
      if (!event.lengthComputable) return;
      const percent = Math.round((100 * event.loaded) / event.total);
      if (percent < 100) show(words.sending, words.share.replace("{percent}", percent), false);
      else show(words.measuring, "", false);
    };
    request.onerror = request.ontimeout = () => show(words.noanswer, words.unreached, true);
    request.onload = () => {
      let answer = {};
      try { answer = JSON.parse(request.responseText); } catch { /* no answer of ours */ }
      if (request.status === 201 && answer.url) location.assign(answer.url);
      else show(words.notmeasured, answer.text || words.unreached, true);
    };
    request.send(data);
  };

  for (const form of document.querySelectorAll("form[data-send]")) {
    for (const input of form.querySelectorAll("input[type=file]")) {
      input.addEventListener("change", () => {
        if (!input.files.length) return;
        if (!form.reportValidity()) return;
        send(form, input.files[0]);
      });
    }
  }

  for (const button of document.querySelectorAll("[data-pick]")) {
    button.addEventListener("click", (event) => {
      const input = document.getElementById(button.dataset.pick);
      if (!input) return;
      event.preventDefault();
      const details = input.form.querySelector("details");
      if (details && !input.form.checkValidity()) {
        // The size is asked for before the photo is taken, not after.
        details.open = true;
        input.form.reportValidity();
        return;
      }
      input.value = "";
      input.click();
    });
  }

  document.getElementById("sending-again").addEventListener("click", () => last && send(last.form, last.file));
  document.getElementById("sending-other").addEventListener("click", () => {
    view.hidden = true;
    page.hidden = false;
  });

  const form = document.querySelector("form[data-send]");
  addEventListener("dragover", (event) => {
    event.preventDefault();
    document.body.classList.add("dropping");
  });
  addEventListener("dragleave", () => document.body.classList.remove("dropping"));
  addEventListener("drop", (event) => {
    event.preventDefault();
    document.body.classList.remove("dropping");
    const file = event.dataTransfer.files[0];
    if (file && form && form.reportValidity()) send(form, file);
  });
  // Back from the answer: the page as it was, not the waiting one.
  addEventListener("pageshow", (event) => {
    if (event.persisted) { view.hidden = true; page.hidden = false; }
  });
})();
