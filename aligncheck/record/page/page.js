(function () {
  "use strict";
  var frame = document.getElementById("frame");
  if (!frame) { return; }
  var data = JSON.parse(document.getElementById("data").textContent);
  var share = document.getElementById("share");
  var told = document.getElementById("told");
  var cards = Array.prototype.slice.call(document.querySelectorAll(".card"));
  var width = Number(frame.dataset.width);
  var height = Number(frame.dataset.height);

  function picked(name) {
    return Number(document.querySelector("input[name=" + name + "]:checked").value);
  }

  function heading(index) {
    return cards[index].querySelector("h3").textContent;
  }

  function outline(which, index, path) {
    document.getElementById("outline-" + which).setAttribute("d", path || "");
    document.getElementById("case-" + which).setAttribute("d", path || "");
  }

  function compare() {
    var earlier = picked("earlier");
    var now = picked("now");
    cards.forEach(function (card, index) {
      card.classList.toggle("is-earlier", index === earlier);
      card.classList.toggle("is-now", index === now);
    });
    document.getElementById("image-earlier").setAttribute("href", cards[earlier].querySelector("img").src);
    document.getElementById("image-now").setAttribute("href", cards[now].querySelector("img").src);
    document.getElementById("frame-words").textContent = heading(now) + " against " + heading(earlier);
    var both = data.outlines[earlier] && data.outlines[now] && earlier !== now;
    outline("earlier", earlier, both ? data.outlines[earlier] : "");
    outline("now", now, both ? data.outlines[now] : "");
    document.getElementById("legend").hidden = !both;
    told.textContent = earlier === now
      ? "Both are the same stage: pick another."
      : data.pairs[Math.min(earlier, now) + "-" + Math.max(earlier, now)] || "These two are not compared in words.";
  }

  function split() {
    var x = width * Number(share.value) / 100;
    frame.querySelector("#left rect").setAttribute("width", x);
    frame.querySelector("#right rect").setAttribute("x", x);
    frame.querySelector("#right rect").setAttribute("width", width - x);
    document.getElementById("split").setAttribute("d", "M" + x + " 0V" + height);
  }

  function drag(event) {
    if (event.buttons || event.type === "pointerdown") {
      var point = new DOMPoint(event.clientX, event.clientY).matrixTransform(frame.getScreenCTM().inverse());
      share.value = String(Math.round(Math.min(1, Math.max(0, point.x / width)) * 100));
      split();
    }
  }

  document.querySelectorAll(".pick input").forEach(function (input) { input.addEventListener("change", compare); });
  share.addEventListener("input", split);
  frame.addEventListener("pointerdown", drag);
  frame.addEventListener("pointermove", drag);
  compare();
  split();
}());
