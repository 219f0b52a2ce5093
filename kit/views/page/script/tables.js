"use strict";
(function () {
  const ROWS_AT_ONCE = 300;
  const inOrder = new Intl.Collator("en", { numeric: true }).compare;
  const panels = Array.from(document.querySelectorAll("form.filter"), panel).filter(Boolean);
  if (!panels.length) { return; }

  // The view is in the address: what is looked for, what is chosen, what it is sorted by.
  const asked = () => new URLSearchParams(location.hash.includes("=") ? location.hash.slice(1) : "");
  const write = (how) => {
    const view = new URLSearchParams();
    panels.forEach((each) => each.tell(view));
    const hash = "#" + view;
    if (hash !== (location.hash || "#")) { history[how](null, "", hash); }
  };
  const read = () => {
    const view = asked();
    panels.forEach((each) => each.take(view));
  };

  // A long table: its heads sort it, the fields above it choose its rows, and no more of them than a browser lays out
  // at once stand in it until all are asked for. On paper all that are chosen stand.
  function panel(form) {
    const table = form.parentElement.querySelector("table");
    const prefix = form.dataset.prefix;
    const find = form.elements.namedItem(prefix + "find");
    const choices = Array.from(form.querySelectorAll("select"));
    const verdicts = choices.find((each) => each.dataset.words !== undefined);
    const [clear, everything] = form.querySelectorAll("button");
    const said = form.nextElementSibling;
    const heads = Array.from(table.tHead.rows[0].cells, (cell) => cell.querySelector("button")).filter(Boolean);
    let rows = null;  // as read at first need: the page opens with its first rows in place
    let sort = "";
    let all = false;
    let unknown = [];

    const every = () => {
      if (rows === null) {
        const rest = form.parentElement.querySelector("noscript");
        const html = table.tBodies[0].innerHTML + (rest ? rest.textContent.split("<tbody>")[1].split("</tbody>")[0] : "");
        rows = html.split("</tr>").slice(0, -1).map((row) => ({ html: row.slice(row.indexOf("<tr")) + "</tr>" }));
      }
      return rows;
    };
    const codes = (row) => {
      if (!row.codes) {
        const head = row.html.slice(0, row.html.indexOf(">"));
        row.codes = Object.fromEntries(Array.from(head.matchAll(/data-([a-z]+)="([^"]*)"/g), (found) => found.slice(1)));
      }
      return row.codes;
    };
    // A verdict is no text: it is found by its own words, whole, and by nothing that holds them.
    const text = (row) => {
      if (row.text === undefined) {
        const html = form.dataset.within ? row.html.slice(0, row.html.indexOf("</" + form.dataset.within + ">")) : row.html;
        row.text = html.replace(/<td class="word".*?<\/td>/s, " ").replace(/<[^>]*>/g, " ").replace(/&nbsp;|\s+/g, " ").toLowerCase();
      }
      return row.text;
    };
    const key = (row, column) => {
      const cell = row.html.split(/<t[hd]/)[column + 1];
      const given = /^[^>]* data-key="([^"]*)"/.exec(cell);
      return given ? given[1] : cell.slice(cell.indexOf(">") + 1).replace(/<[^>]*>/g, "");
    };

    const wanted = () => {
      const chosen = choices.filter((each) => each.value).map((each) => ({ of: each, code: each.selectedOptions[0].dataset.code }));
      let words = " " + find.value.toLowerCase().trim().replace(/\s+/g, " ") + " ";
      const named = verdicts ? Array.from(verdicts.options).slice(1) : [];
      named.sort((one, other) => other.text.length - one.text.length).forEach((option) => {
        const word = " " + option.text.toLowerCase() + " ";
        if (words.includes(word)) {
          words = words.replace(word, " ");
          chosen.push({ of: verdicts, code: option.dataset.code });
        }
      });
      const escaped = words.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");
      return { chosen, words: escaped.split(" ").filter(Boolean) };
    };
    const MATCHES = {
      is: (held, code) => held === code,
      has: (held, code) => (" " + held + " ").includes(" " + code + " "),
      at: (held, code, of) => held.split(" ")[of.dataset.at] === code,
      state: (held, code, of, place) => (place === undefined ? held.includes(code) : held[place] === code),
      place: (held, code) => held[code] !== "-",
    };
    const fits = ({ chosen, words }) => {
      const place = chosen.find(({ of }) => of.dataset.match === "place");
      return (row) => chosen.every(({ of, code }) => MATCHES[of.dataset.match](codes(row)[of.dataset.in], code, of, place && place.code))
        && words.every((word) => text(row).includes(word));
    };
    const sorted = (fitting) => {
      const head = heads.find((each) => each.value === sort.replace("-", ""));
      if (!head) { return fitting; }
      const column = head.parentElement.cellIndex;
      const number = (text) => (text === "" ? -Infinity : Number(text));
      const compare = head.parentElement.classList.contains("n") ? (one, other) => number(one) - number(other) || 0 : inOrder;
      const pairs = fitting.map((row) => [key(row, column), row]);
      pairs.sort((one, other) => (sort.startsWith("-") ? compare(other[0], one[0]) : compare(one[0], other[0])));
      return pairs.map((pair) => pair[1]);
    };
    const label = (each) => each.closest("label").firstChild.textContent.trim();
    const plain = () => !sort && !find.value.trim() && choices.every((each) => !each.value);

    const draw = (most) => {
      const untouched = rows === null && plain() && most === ROWS_AT_ONCE;
      const total = Number(form.dataset.total);
      const fitting = untouched ? null : sorted(plain() ? every() : every().filter(fits(wanted())));
      const count = untouched ? total : fitting.length;
      if (!untouched) { table.tBodies[0].innerHTML = fitting.slice(0, most).map((row) => row.html).join(""); }
      const left = Math.max(count - most, 0);
      const chosen = choices.filter((each) => each.value).map((each) => label(each) + ": " + each.selectedOptions[0].text);
      const looked = find.value.trim() ? ["Find: " + find.value.trim()] : [];
      said.textContent = [count.toLocaleString("en") + " of " + total.toLocaleString("en") + " " + form.dataset.rows, ...looked, ...chosen].join("; ").replace(/\.$/, "")
        + (left ? ". The first " + most + " stand here." : ".") + unknown.join("");
      heads.forEach((each) => {
        const falling = sort === "-" + each.value;
        if (falling || sort === each.value) { each.parentElement.setAttribute("aria-sort", falling ? "descending" : "ascending"); }
        else { each.parentElement.removeAttribute("aria-sort"); }
      });
      clear.hidden = plain() && !unknown.length;
      everything.hidden = left === 0;
    };
    const redraw = () => draw(all ? Infinity : ROWS_AT_ONCE);
    const change = (how) => {
      unknown = [];
      redraw();
      write(how);
    };
    const take = (view) => {
      find.value = view.get(find.name) || "";
      sort = view.get(prefix + "sort") || "";
      all = view.get(prefix + "rows") === "all";
      unknown = [];
      choices.forEach((each) => {
        const value = view.get(each.name) || "";
        each.value = value;
        if (each.selectedIndex < 0) {
          each.value = "";
          unknown.push(" The address asks for " + label(each).toLowerCase() + " “" + value + "”, which this page does not have.");
        }
      });
      redraw();
    };
    const tell = (view) => {
      [find, ...choices].filter((each) => each.value.trim()).forEach((each) => view.set(each.name, each.value.trim()));
      if (sort) { view.set(prefix + "sort", sort); }
      if (all) { view.set(prefix + "rows", "all"); }
    };

    heads.forEach((each) => each.addEventListener("click", () => {
      sort = sort === each.value ? "-" + each.value : each.value;
      change("pushState");
    }));
    find.addEventListener("input", () => change("replaceState"));
    choices.forEach((each) => each.addEventListener("change", () => change("pushState")));
    clear.addEventListener("click", () => {
      take(new URLSearchParams());
      write("pushState");
      find.focus();
    });
    everything.addEventListener("click", () => {
      all = true;
      change("pushState");
    });
    form.addEventListener("submit", (event) => event.preventDefault());
    window.addEventListener("beforeprint", () => draw(Infinity));
    window.addEventListener("afterprint", redraw);
    form.hidden = false;
    const goTo = (view) => {
      if ([...view.keys()].some((name) => name.startsWith(prefix) && form.elements.namedItem(name))) { form.scrollIntoView(); }
    };
    return { take, tell, goTo };
  }

  // A report leads back to the view that it was opened from.
  const handOn = (event) => {
    const link = event.target.closest && event.target.closest("a[href]");
    if (link && link.pathname.endsWith("/report.html")) {
      link.hash = location.hash.includes("=") ? "back=" + encodeURIComponent(location.hash) : "";
    }
  };
  ["click", "auxclick", "contextmenu"].forEach((name) => document.addEventListener(name, handOn, true));
  document.querySelectorAll("a[data-view]").forEach((link) => { link.href = "#" + link.dataset.view; });
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    if (!link || !link.hash.includes("=")) { return; }
    event.preventDefault();
    if (link.hash !== location.hash) { history.pushState(null, "", link.hash); }
    read();
    panels.forEach((each) => each.goTo(asked()));
  });
  window.addEventListener("popstate", () => {
    if (location.hash.includes("=") || location.hash.length < 2) { read(); }  // an anchor within the page keeps the view
  });
  read();
  const opened = performance.getEntriesByType("navigation")[0];
  if (opened && opened.type === "navigate") { panels.forEach((each) => each.goTo(asked())); }
})();
