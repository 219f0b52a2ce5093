"use strict";
(function () {
  const contents = document.querySelector("nav.contents");

  // The way back to the unit's page, as the reader left it: it hands on what its address says.
  function back(link) {
    const own = new URL(link.href, location.href);
    const handed = /^#back=(.*)$/.exec(location.hash);
    const before = document.referrer ? new URL(document.referrer) : null;
    if (handed) {
      const state = decodeURIComponent(handed[1]);
      if (/^[?#]/.test(state)) { link.href = own.href + state; }
    } else if (before && before.origin === own.origin && before.pathname === own.pathname) {
      link.href = before.href;
    }
  }

  // Contents at the side stand open, above the page they open when asked to; the section being read is marked.
  function follow() {
    const folded = contents.querySelector("details");
    const wide = window.matchMedia("(min-width: 80rem)");
    const unfold = () => { folded.open = wide.matches; };
    const links = Array.from(folded.querySelectorAll("a"));
    const places = links.map((link) => document.getElementById(decodeURIComponent(link.hash.slice(1))));
    let asked = false;
    const mark = () => {
      asked = false;
      const atEnd = window.innerHeight + window.scrollY >= document.documentElement.scrollHeight - 2;
      const read = atEnd ? window.innerHeight : window.innerHeight / 4;
      const passed = places.filter((place) => place.getBoundingClientRect().top <= read).length;
      links.forEach((link, index) => {
        if (index === Math.max(passed - 1, 0)) { link.setAttribute("aria-current", "true"); } else { link.removeAttribute("aria-current"); }
      });
    };
    const later = () => {
      if (!asked) { asked = true; requestAnimationFrame(mark); }
    };
    unfold();
    wide.addEventListener("change", unfold);
    folded.addEventListener("click", (event) => {
      if (event.target.closest("a") && !wide.matches) { folded.open = false; }
    });
    window.addEventListener("scroll", later, { passive: true });
    window.addEventListener("resize", later);
    mark();
  }

  // A box that has nothing to scroll is no stop for the Tab key.
  const sizes = new ResizeObserver((entries) => entries.forEach(({ target }) => {
    if (target.scrollWidth > target.clientWidth) { target.tabIndex = 0; } else { target.removeAttribute("tabindex"); }
  }));
  document.querySelectorAll(".scroll").forEach((box) => sizes.observe(box));
  if (contents) {
    const link = contents.querySelector(".back a");
    if (link) { back(link); }
    follow();
  }
})();
