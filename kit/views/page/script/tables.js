"use strict";
(function () {
  const ROWS_AT_ONCE = 300;

  // A long table: a click on a head sorts it, the fields above it filter it, and no more rows than a browser
  // lays out at once stand in it until all are asked for. On paper all that fit stand.
  function listed(panel) {
    const table = document.getElementById(panel.dataset.table);
    const body = table.tBodies[0];
    let rows = Array.from(table.querySelectorAll("tbody > tr"));
    const texts = new Map(rows.map((row) => [row, row.textContent.toLowerCase()]));
    const words = panel.querySelector("input");
    const choice = panel.querySelector("select");
    const count = panel.querySelector("output");
    const everything = panel.querySelector("button");
    let limit = ROWS_AT_ONCE;

    const draw = (most) => {
      const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
      const verdict = choice ? choice.value : "";
      const fitting = rows.filter((row) => wanted.every((word) => texts.get(row).includes(word))
        && (verdict === "" || row.dataset.verdict === verdict));
      const shown = fitting.slice(0, most);
      body.replaceChildren(...shown);
      const others = fitting.length - shown.length;
      count.textContent = shown.length + " of " + rows.length + " shown" + (others ? ", " + others + " more fit" : "");
      everything.hidden = others === 0;
    };
    const key = (row, column) => {
      const cell = row.cells[column];
      return cell.dataset.key === undefined ? cell.textContent : cell.dataset.key;
    };
    const order = new Intl.Collator("en", { numeric: true }).compare;
    const heads = table.classList.contains("sortable") ? Array.from(table.tHead.rows[0].cells) : [];
    heads.forEach((head, column) => head.querySelector("button").addEventListener("click", () => {
      const falling = head.getAttribute("aria-sort") === "ascending";
      heads.forEach((each) => each.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", falling ? "descending" : "ascending");
      const pairs = rows.map((row) => [key(row, column), row]);
      pairs.sort((one, other) => order(one[0], other[0]));
      if (falling) { pairs.reverse(); }
      rows = pairs.map((pair) => pair[1]);
      draw(limit);
    }));
    words.addEventListener("input", () => draw(limit));
    if (choice) { choice.addEventListener("change", () => draw(limit)); }
    everything.addEventListener("click", () => { limit = Infinity; draw(limit); });
    window.addEventListener("beforeprint", () => draw(Infinity));
    window.addEventListener("afterprint", () => draw(limit));
    panel.addEventListener("submit", (event) => event.preventDefault());
    Array.from(table.tBodies).slice(1).forEach((rest) => rest.remove());
    panel.hidden = false;
    draw(limit);
  }

  document.querySelectorAll(".filter").forEach(listed);
})();
