"use strict";
// Shows the page that was made last, where the reader was, and what was said of it.

const report = document.getElementById("report");
const line = document.getElementById("line");
const opened = document.getElementById("opened");
const news = new EventSource("news");

function show(page) {
  const address = new URL("pages/" + page.split("/").map(encodeURIComponent).join("/"), location.href);
  if (report.contentWindow.location.pathname !== address.pathname) {
    report.contentWindow.location.replace(address);
    return;
  }
  const left = report.contentWindow.scrollX;
  const top = report.contentWindow.scrollY;
  const open = [...report.contentDocument.querySelectorAll("details")].map((each) => each.open);
  report.addEventListener("load", () => {
    const parts = [...report.contentDocument.querySelectorAll("details")];
    if (parts.length === open.length) parts.forEach((each, number) => { each.open = open[number]; });
    report.contentWindow.scrollTo({ left, top, behavior: "instant" });
  }, { once: true });
  report.contentWindow.location.reload();
}

function say(first, second, stays) {
  line.textContent = first;
  opened.textContent = second;
  document.querySelector("header").classList.toggle("stays", stays);
}

news.addEventListener("message", (message) => {
  const told = JSON.parse(message.data);
  if (told.number === 0) return;
  document.title = told.line;
  if (told.stays) {
    say(told.line, "Nothing was made of this save: the page below is of the one before.", true);
  } else {
    say(told.line, told.opened, false);
    if (told.page) show(told.page);
  }
});

news.addEventListener("ended", () => {
  news.close();
  say("The watching has ended. The page below follows no longer.", "", true);
});

news.addEventListener("error", () => {
  say("The watching has ended, or does not answer. The page below follows no longer.", "", true);
});
