"use strict";
(function () {
  const PAPER_WIDTH_PX = 680;
  const PAPER_SCALE = 0.7;
  const COLOURS = {
    "#1f2428": "--ink", "#5d666e": "--muted", "#d3d8dc": "--rule", "#fffffe": "--paper", "#1b5583": "--up",
    "#a8480f": "--down", "#96201d": "--limit", "#eef3ef": "--band", "#dde3e8": "--shade"
  };
  const figures = Array.from(document.querySelectorAll(".figure"));
  const probe = document.createElement("span");

  // The colour that a variable of the stylesheet has now, in the reader's theme or on paper.
  function resolved(variable) {
    probe.style.color = "var(" + variable + ")";
    return getComputedStyle(probe).color;
  }

  function draw(onPaper) {
    document.body.append(probe);
    const now = Object.entries(COLOURS).map(([written, variable]) => [written, resolved(variable)]);
    probe.remove();
    for (const figure of figures) {
      let text = figure.querySelector("script").textContent;
      for (const [written, colour] of now) { text = text.replaceAll(written, colour); }
      const content = JSON.parse(text);
      content.layout.width = onPaper ? PAPER_WIDTH_PX : Math.floor(figure.clientWidth);
      content.layout.height *= onPaper ? PAPER_SCALE : 1;
      const options = { displayModeBar: false, staticPlot: onPaper };
      window.Plotly.react(figure.querySelector(".drawing"), content.data, content.layout, options);
      figure.classList.add("drawn");
    }
  }

  function print(onPaper) {
    document.body.classList.toggle("on-paper", onPaper);
    draw(onPaper);
  }

  if (window.Plotly && figures.length) {
    draw(false);
    let width = window.innerWidth;
    window.addEventListener("resize", () => {
      if (window.innerWidth !== width && !document.body.classList.contains("on-paper")) {
        width = window.innerWidth;
        draw(false);
      }
    });
    window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => draw(false));
    window.addEventListener("beforeprint", () => print(true));
    window.addEventListener("afterprint", () => print(false));
  }
})();
