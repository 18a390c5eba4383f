"use strict";
/* What the page itself does: send dropped files one by one, keep what is being typed, copy, and say when the desk ended. */

const said = (text) => {
  const place = document.getElementById("said");
  const line = document.createElement("p");
  line.className = "notice";
  line.textContent = text;
  place.replaceChildren(line);
};

const token = () => JSON.parse(document.body.getAttribute("hx-headers"))["X-Desk-Token"];

/* A page that is being typed into is shown anew once the field is left. */
let isStale = false;
const typing = (part) => {
  const at = document.activeElement;
  return at && part.contains(at) && (at.matches("input:not([type=button])") || at.matches("textarea:not([readonly])")) && at.value !== at.defaultValue;
};
document.addEventListener("htmx:oobBeforeSwap", (event) => {
  const part = document.getElementById("live");
  if (event.detail.target === part && typing(part)) {
    event.detail.shouldSwap = false;
    isStale = true;
  }
});
document.addEventListener("focusout", () => {
  if (isStale) {
    setTimeout(() => {
      if (!typing(document.getElementById("live"))) {
        isStale = false;
        htmx.ajax("GET", location.href, { target: "#live", select: "#live", swap: "outerHTML" });
      }
    }, 200);
  }
});

/* The desk may be gone: say so, and ask again in a while. */
document.addEventListener("htmx:sendError", () => {
  said("The desk does not answer: it has ended, or is being started. What was saved in the book is safe.");
});
document.addEventListener("htmx:afterRequest", (event) => {
  const pulse = document.getElementById("pulse");
  if (event.detail.elt === pulse && !event.detail.successful) {
    setTimeout(() => htmx.trigger(pulse, "load"), 5000);
  }
});

document.addEventListener("change", (event) => {
  const form = event.target.closest("[data-send-on-change]");
  if (form) {
    form.requestSubmit();
  }
  if (event.target.id === "files" || event.target.id === "folder") {
    send([...event.target.files]);
  }
});

document.addEventListener("click", (event) => {
  const from = event.target.dataset && event.target.dataset.copy;
  if (from) {
    const place = document.getElementById(from);
    place.select();
    navigator.clipboard.writeText(place.value).then(() => said("Copied."), () => said("Press Ctrl+C to copy."));
  }
});

/* Files and folders dropped anywhere on the field. */
const inside = async (entry) => {
  if (entry.isFile) {
    return [await new Promise((good, bad) => entry.file(good, bad))];
  }
  const reader = entry.createReader();
  const found = [];
  for (;;) {
    const some = await new Promise((good, bad) => reader.readEntries(good, bad));
    if (!some.length) {
      return found;
    }
    for (const one of some) {
      found.push(...(await inside(one)));
    }
  }
};

for (const name of ["dragover", "drop"]) {
  document.addEventListener(name, async (event) => {
    event.preventDefault();
    const field = event.target.closest && event.target.closest("#drop");
    if (name === "drop" && field) {
      const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry && item.webkitGetAsEntry()).filter(Boolean);
      const files = entries.length ? (await Promise.all(entries.map(inside))).flat() : [...event.dataTransfer.files];
      send(files);
    }
  });
}

const line = (name) => {
  let list = document.getElementById("sent");
  if (!list) {
    list = document.createElement("ul");
    list.id = "sent";
    document.getElementById("said").after(list);
  }
  const item = document.createElement("li");
  const bar = document.createElement("progress");
  bar.setAttribute("aria-label", name);
  item.append(`${name} `, bar);
  list.append(item);
  return { item, bar };
};

const send = async (files) => {
  for (const file of files) {
    const { item, bar } = line(file.name);
    await new Promise((done) => {
      const call = new XMLHttpRequest();
      call.open("POST", `/gather/received?name=${encodeURIComponent(file.name)}`);
      call.setRequestHeader("X-Desk-Token", token());
      call.setRequestHeader("Content-Type", "application/octet-stream");
      call.upload.addEventListener("progress", (event) => {
        bar.max = event.total;
        bar.value = event.loaded;
      });
      call.addEventListener("loadend", () => {
        bar.remove();
        item.textContent = call.status === 200 ? call.responseText : `${file.name}: ${call.responseText || "could not be sent."}`;
        done();
      });
      call.send(file);
    });
  }
};
