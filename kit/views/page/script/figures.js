"use strict";
(function () {
  const DATA = "figures.js";
  const PLOTLY = document.currentScript.dataset.assets + "/plotly.min.js";
  const TALLER = 1.35;
  const PICTURE = { width: 1200, height: 640, scale: 2 };
  const COLOURS = {
    "#1f2428": "--ink", "#5d666e": "--muted", "#d3d8dc": "--rule", "#fffffe": "--paper", "#1b5583": "--up",
    "#a8480f": "--down", "#96201d": "--limit", "#eef3ef": "--band", "#dde3e8": "--shade"
  };
  const asked = new Map();
  const explored = new Set();

  // A script file that lies beside the page, once. A page opened from a folder may run such a file, not read one.
  function load(file) {
    if (!asked.has(file)) {
      asked.set(file, new Promise((loaded, missing) => {
        const script = document.createElement("script");
        script.src = file;
        script.onload = loaded;
        script.onerror = () => { script.remove(); asked.delete(file); missing(new Error(file)); };
        document.head.append(script);
      }));
    }
    return asked.get(file);
  }

  // What a figure is drawn from, if the file beside the page is the page's own.
  function content(figure) {
    const found = (window.strokebookFigures || [])[figure.dataset.figure - 1];
    if (!found || found.layout.meta.mark !== figure.dataset.mark) { throw new Error(DATA); }
    return JSON.stringify(found);
  }

  // The colours that the style sheet has now, in the reader's theme.
  function inTheme(text) {
    const probe = document.createElement("span");
    document.body.append(probe);
    for (const [written, variable] of Object.entries(COLOURS)) {
      probe.style.color = "var(" + variable + ")";
      text = text.replaceAll(written, getComputedStyle(probe).color);
    }
    probe.remove();
    return text;
  }

  function draw(figure) {
    const { data, layout } = JSON.parse(inTheme(content(figure)));
    layout.height *= TALLER;
    const twin = figure.querySelector(".twin");
    return window.Plotly.react(twin, data, layout, { displayModeBar: false, responsive: true });
  }

  function fileName(figure, ending) {
    const words = document.title + " " + figure.dataset.title;
    return words.replace(/[^\p{L}\p{N}]+/gu, "-").replace(/^-|-$/g, "") + "." + ending;
  }

  function save(name, address) {
    const link = document.createElement("a");
    link.href = address;
    link.download = name;
    link.click();
  }

  // As on paper: light, with its title.
  function savePicture(figure) {
    const drawn = JSON.parse(content(figure));
    drawn.layout.title = { text: document.title + ": " + figure.dataset.title, x: 0.02, font: { size: 16 } };
    drawn.layout.margin.t += 40;
    return window.Plotly.toImage(drawn, { format: "png", ...PICTURE }).then((url) => save(fileName(figure, "png"), url));
  }

  const quoted = (value) => /[",\r\n]/.test(value) ? '"' + value.replaceAll('"', '""') + '"' : value;

  // One line a point: the series, and for each axis a column whose head has the unit.
  function table(drawn) {
    const { data, layout } = drawn;
    const axis = (trace, side) => layout[side + "axis" + (trace[side + "axis"] || side).slice(1)];
    const head = (trace, side) => axis(trace, side).ticktext ? "" : axis(trace, side).title.text;
    const points = data.filter((trace) => trace.hoverinfo !== "skip").flatMap((trace) => trace.x.map((x, index) => {
      const point = { series: trace.name, [head(trace, "x")]: x, [head(trace, "y")]: trace.y[index] };
      if (trace.error_x) { point["± " + head(trace, "x")] = trace.error_x.array[index]; }
      return x === null || trace.y[index] === null ? null : point;
    })).filter(Boolean);
    const heads = [...new Set(points.flatMap(Object.keys))].filter(Boolean);
    const lines = points.map((point) => heads.map((each) => quoted(String(point[each] ?? ""))).join(","));
    return [heads.map(quoted).join(","), ...lines].join("\r\n") + "\r\n";
  }

  function savePoints(figure) {
    const file = new Blob(["\ufeff", table(JSON.parse(content(figure)))], { type: "text/csv" });
    const address = URL.createObjectURL(file);
    save(fileName(figure, "csv"), address);
    setTimeout(() => URL.revokeObjectURL(address), 10000);
  }

  function button(words, figure, action) {
    const made = document.createElement("button");
    made.type = "button";
    made.textContent = words;
    made.setAttribute("aria-label", words + ": " + figure.dataset.title);
    made.addEventListener("click", action);
    return made;
  }

  function tools(figure) {
    const bar = document.createElement("p");
    const said = document.createElement("span");
    bar.className = "tools";
    said.setAttribute("role", "status");
    const back = () => {
      figure.classList.remove("explored");
      explored.delete(figure);
      window.Plotly.purge(figure.querySelector(".twin"));
      figure.querySelector(".twin").remove();
      bar.replaceChildren(explore, said);
      explore.focus();
    };
    const show = () => {
      const twin = document.createElement("div");
      twin.className = "twin";
      twin.setAttribute("role", "group");
      twin.setAttribute("aria-label", figure.dataset.title + ", to explore");
      bar.before(twin);
      figure.classList.add("explored");
      explored.add(figure);
      const reset = button("Reset", figure, () => draw(figure));
      bar.replaceChildren(
        button("Back to the drawing", figure, back), reset,
        button("Save PNG", figure, () => savePicture(figure)), button("Save CSV", figure, () => savePoints(figure)), said
      );
      said.textContent = "Drag to enlarge a part; a click on a name in the legend hides it.";
      bar.firstChild.focus();
      return draw(figure);
    };
    const missing = () => {
      said.textContent = "Exploring needs the files " + DATA + " and " + PLOTLY
        + " where the report was issued: they are not beside this page, or belong to another. The drawing is complete.";
    };
    const explore = button("Explore", figure, () => {
      said.textContent = "";
      Promise.all([load(DATA), load(PLOTLY)]).then(() => content(figure)).then(show, missing);
    });
    bar.append(explore, said);
    figure.append(bar);
  }

  document.querySelectorAll(".figure[data-figure]").forEach(tools);
  const redraw = () => explored.forEach(draw);
  window.matchMedia("(prefers-color-scheme: dark)").addEventListener("change", redraw);
})();
