// What plain pages cannot do by themselves. Every page works without this file.
(() => {
  "use strict";

  const all = (selector, root = document) => Array.from(root.querySelectorAll(selector));
  const say = (words) => {
    const place = document.getElementById("toast");
    if (!place) return;
    const line = document.createElement("p");
    line.className = "toast";
    line.textContent = words;
    place.replaceChildren(line);
    return line;
  };

  // A gauge that types: digits, then Enter or Tab. Either goes on to the next empty reading, then to
  // the next button; what a gauge still sends there finds nothing to press.
  let typedInto = null;
  let arrived = null; // at the next button: when, and whether a reading came after it
  document.addEventListener("input", (event) => (typedInto = event.target));
  const readsOf = (field) =>
    all("input.read", field.form ?? document)
      .filter(
        // A field in a closed part of the page has an offsetParent all the same.
        (read) =>
          !read.disabled &&
          !read.readOnly &&
          (read.checkVisibility?.() ?? read.offsetParent !== null),
      )
      // Fields of one run follow each other: one gauge along the whole head, then the next.
      .sort((a, b) => Number(a.dataset.run ?? 0) - Number(b.dataset.run ?? 0));
  const goOn = (field, at) => {
    // As it was refused: the gauge reads here again.
    if (field.dataset.refused === field.value && field.hasAttribute("aria-invalid")) {
      field.select();
      return;
    }
    const reads = readsOf(field);
    const here = reads.indexOf(field);
    const onward = [...reads.slice(here + 1), ...reads.slice(0, here)];
    const open =
      onward.find((read) => read.value.trim() === "") ??
      onward.find((read) => read.hasAttribute("aria-invalid"));
    if (open) {
      open.focus();
      return;
    }
    field.blur();
    const next = all(".button.next").find((button) => button.offsetParent !== null);
    next?.focus({ preventScroll: true });
    arrived = next ? { at, strays: false } : null;
    const line = say("All readings here are filled.");
    setTimeout(() => line?.remove(), 4000);
  };
  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.isComposing || !field.matches?.("input.read")) return;
    const isTab = event.key === "Tab" && !event.shiftKey && typedInto === field;
    if (event.key !== "Enter" && !isTab) return;
    // The only reading of its form: a gauge's Enter keeps it, like the button beside it.
    if (field.dataset.enter === "send") {
      if (isTab) return;
      event.preventDefault();
      if (field.value.trim() !== "") field.form.requestSubmit();
      return;
    }
    event.preventDefault();
    goOn(field, event.timeStamp);
  });
  // Back at a reading that is kept already: on from there.
  document.addEventListener("gauge:on", (event) => goOn(event.target, event.timeStamp));
  // A second Enter in the same breath, or one behind another reading, is the gauge's, not a press.
  const BREATH_MS = 500;
  document.addEventListener("keydown", (event) => {
    if (!arrived || !event.target.matches?.(".button.next")) return;
    const isByHand = !arrived.strays && event.timeStamp - arrived.at > BREATH_MS;
    if ((event.key === "Enter" || event.key === " ") && isByHand) return;
    if (event.key.length === 1) {
      arrived.strays = true;
      event.preventDefault();
    }
    if (event.key !== "Enter") return;
    event.preventDefault();
    if (arrived.strays) say("All readings here are filled: the last one was not taken.");
    arrived = { at: event.timeStamp, strays: false };
  });
  document.addEventListener("pointerdown", () => (arrived = null));

  // A field that counts with one answer touches that answer when it is typed into.
  document.addEventListener("input", (event) => {
    const chooses = event.target.dataset?.chooses;
    if (!chooses || event.target.value === "") return;
    const [name, value] = chooses.split("=");
    for (const radio of event.target.form.elements) {
      if (radio.type === "radio" && radio.name === name && radio.value === value) {
        radio.checked = true;
      }
    }
  });

  // A reading taken up again is replaced, not added to.
  document.addEventListener("focusin", (event) => {
    typedInto = null;
    // Whoever leaves the next button comes back to it by hand.
    if (!event.target.matches?.(".button.next")) arrived = null;
    if (event.target.matches?.("input.read")) event.target.select();
  });
  document.addEventListener("click", (event) => {
    if (event.target.matches?.('input.read[aria-invalid="true"]')) event.target.select();
  });

  document.addEventListener("keydown", (event) => {
    if (event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest?.("input, textarea, select, [contenteditable]")) return;
    const search = document.querySelector("input[type=search]");
    if (!search) return;
    event.preventDefault();
    search.focus();
    search.select();
  });

  // The cookie lets the server draw the page in the right scheme, so nothing flashes.
  const root = document.documentElement;
  const systemDark = window.matchMedia("(prefers-color-scheme: dark)");
  const isDark = () =>
    root.dataset.theme ? root.dataset.theme === "dark" : systemDark.matches;
  const nameSwitches = () => {
    for (const button of all("[data-theme-switch]")) {
      button.hidden = false;
      button.textContent = isDark() ? "Light scheme" : "Dark scheme";
    }
  };
  document.addEventListener("click", (event) => {
    if (!event.target.closest?.("[data-theme-switch]")) return;
    root.dataset.theme = isDark() ? "light" : "dark";
    document.cookie = `theme=${root.dataset.theme}; path=/; max-age=31536000; samesite=lax`;
    nameSwitches();
  });
  systemDark.addEventListener?.("change", nameSwitches);

  // Only the browser knows where this page was opened from.
  for (const button of all("[data-back]")) {
    button.hidden = !(document.referrer.startsWith(`${location.origin}/`) && history.length > 1);
    button.addEventListener("click", () => history.back());
  }

  // A greyed next button stays reachable, so that its reason can be read, and does nothing.
  document.addEventListener(
    "click",
    (event) => {
      if (event.target.closest?.('[aria-disabled="true"]')) event.preventDefault();
    },
    true,
  );

  // What takes longer than a moment says so, with the seconds; they are not read out one by one.
  const PATIENCE_MS = 700;
  const underWay = document.getElementById("under-way");
  let tick = 0;
  const isUnderWay = (words, touched) => {
    const began = Date.now();
    const count = document.createElement("span");
    count.className = "fig";
    count.setAttribute("aria-hidden", "true");
    const show = () => {
      if (!count.isConnected) {
        underWay?.replaceChildren(`${words} … `, count);
        touched?.setAttribute("aria-busy", "true");
      }
      const seconds = Math.round((Date.now() - began) / 1000);
      count.textContent = seconds > 1 ? `${seconds} s` : "";
      tick = setTimeout(show, 1000);
    };
    clearTimeout(tick);
    tick = setTimeout(show, PATIENCE_MS);
  };
  const isDone = () => {
    clearTimeout(tick);
    underWay?.replaceChildren();
    for (const touched of all('[aria-busy="true"]')) touched.removeAttribute("aria-busy");
  };
  const wordsOf = (touched) => touched?.textContent.trim().replace(/\s+/g, " ") ?? "";

  // Plain forms: one press, one record. Not at once, or the pressed button's own name is lost.
  const pressed = new Set();
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented) return;
    isUnderWay(wordsOf(event.submitter) || "Under way", event.submitter);
    if (form.method !== "post") return;
    setTimeout(() => {
      for (const button of form.elements) {
        if (button.type === "submit" && !button.disabled) {
          button.disabled = true;
          pressed.add(button);
        }
      }
    });
  });
  window.addEventListener("pageshow", () => {
    for (const button of pressed) button.disabled = false;
    pressed.clear();
    isDone();
  });

  // A file is put together while the page stays: it is fetched here, so that its end is seen. What
  // is too large to be held twice (data-large), and any refusal, is left to the browser.
  document.addEventListener("click", async (event) => {
    const link = event.target.closest?.("a[download]:not([data-large])");
    if (!link || event.defaultPrevented || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (link.hasAttribute("data-fetching")) return;
    link.toggleAttribute("data-fetching", true);
    isUnderWay(wordsOf(link), link);
    try {
      const answer = await fetch(link.href);
      const named = /filename="([^"]+)"/.exec(answer.headers.get("Content-Disposition") ?? "");
      if (!answer.ok || !named) {
        location.assign(link.href);
        return;
      }
      const save = document.createElement("a");
      save.href = URL.createObjectURL(await answer.blob());
      [, save.download] = named;
      save.click();
      setTimeout(() => URL.revokeObjectURL(save.href), 60 * 1000);
    } catch {
      say("No answer from the shop's PC, so there is no file. Nothing was lost: try it again.");
    } finally {
      link.removeAttribute("data-fetching");
      isDone();
    }
  });

  // Undo stands for as long as the server grants it; the answer says for how many seconds.
  const settle = (within) => {
    for (const toast of all("[data-undo-seconds]:not([data-counting])", within)) {
      toast.dataset.counting = "";
      const wait = Number(toast.dataset.undoSeconds) * 1000;
      // Not from under the finger, nor from whoever has come to it with the keyboard.
      const leave = () => {
        if (toast.matches(":hover, :focus-within")) setTimeout(leave, wait);
        else toast.remove();
      };
      setTimeout(leave, wait);
    }
    // The one reading that was refused is read again; else what is wrong is read first.
    const wrong =
      within.querySelector("[data-enter][aria-invalid]") ?? within.querySelector("[data-focus]");
    if (wrong) wrong.focus();
    nameSwitches();
  };
  // Back to the reading that was refused, unless the next one is being typed: a gauge in the middle
  // of its readings would put them into the wrong field.
  let lastKey = 0;
  document.addEventListener("keydown", (event) => (lastKey = event.timeStamp), true);
  const goBack = (id) => {
    const refused = id ? document.getElementById(id) : null;
    if (!refused?.hasAttribute("aria-invalid")) return;
    const rests = BREATH_MS - (performance.now() - lastKey);
    if (rests > 0) {
      setTimeout(() => goBack(id), rests);
      return;
    }
    const at = document.activeElement;
    const isFree = at === document.body || at.matches(".button.next");
    if (isFree || (at.matches("input.read") && at.value === "")) refused.focus();
  };
  // What was found wrong or odd is marked at its field, which is never swapped while one types.
  const mark = () => {
    const said = document.querySelector("[data-wrong]");
    if (!said) return;
    const wrong = said.dataset.wrong.split(" ");
    const odd = said.dataset.odd.split(" ");
    for (const read of all("input.read")) {
      read.classList.toggle("odd", odd.includes(read.id));
      if (wrong.includes(read.id)) {
        read.setAttribute("aria-invalid", "true");
        read.dataset.refused = read.value;
      } else read.removeAttribute("aria-invalid");
    }
    // A page that came back whole says what is wrong at its fields: no longer, once that is mended.
    for (const told of all("form[data-readings] .error[id$='-error']")) {
      const field = document.getElementById(told.id.slice(0, -"-error".length));
      if (!field || (wrong.includes(field.id) && field.value === field.defaultValue)) continue;
      const others = (field.getAttribute("aria-describedby") ?? "")
        .split(" ")
        .filter((id) => id && id !== told.id);
      if (others.length) field.setAttribute("aria-describedby", others.join(" "));
      else field.removeAttribute("aria-describedby");
      if (!wrong.includes(field.id)) field.removeAttribute("aria-invalid");
      told.remove();
    }
    if (said.hasAttribute("data-back")) goBack(wrong[0]);
  };
  document.addEventListener("htmx:after:swap", () => {
    mark();
    settle(document);
  });
  document.addEventListener("htmx:error", () =>
    say("No answer from the shop's PC. What you typed is still here."),
  );
  settle(document);
})();
