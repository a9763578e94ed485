// Readings are kept as they are typed: on this tablet until the shop's PC has them, then in its
// record. What is typed into other forms stays on this tablet until they are sent. And what a page
// shows follows what others do. Every page works without this file.
//
// A reading is noted in the browser's store the moment its field is left, with who typed it, and
// sent from there in order; it leaves the store when the PC says that it stands in the record. Its
// key makes a second sending of the same reading do nothing. A reading that was refused stays here,
// with the PC's words, until it is typed again.
(() => {
  "use strict";

  const WAIT_MS = 15_000; // for one answer
  // One page of a browser sends at a time. It says again and again that it does, so that one which
  // died while sending keeps the others waiting no longer than this. Should two send after all, the
  // keys still let each reading be recorded once.
  const LEASE_MS = 4_000;
  const RENEW_MS = 1_000;
  const LOOK_MS = 3_000;
  const { person, name: personName } = document.body.dataset;
  const all = (selector, root = document) => Array.from(root.querySelectorAll(selector));
  const randomHex = (bytes) =>
    Array.from(crypto.getRandomValues(new Uint8Array(bytes)), (one) =>
      one.toString(16).padStart(2, "0"),
    ).join("");
  // The same over all pages of one tab, so that a page goes on sending what the one before it began.
  const tab = (sessionStorage.tab ??= randomHex(8));
  const clock = (at) =>
    new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hour12: false });

  // ---- The store -------------------------------------------------------------------------------

  const opened = (name, make) =>
    new Promise((resolve) => {
      try {
        const asked = indexedDB.open(name, 1);
        asked.onupgradeneeded = () => make(asked.result);
        asked.onsuccess = () => resolve(asked.result);
        asked.onerror = () => resolve(null);
      } catch {
        resolve(null);
      }
    });
  const database = opened("seatwright", (made) => {
    made.createObjectStore("readings", { keyPath: "nth", autoIncrement: true });
    made.createObjectStore("lease");
  });
  // Of its own: a new store in the other one would wait until every open page of it is closed.
  const drafts = opened("seatwright-typed", (made) => made.createObjectStore("forms"));

  // One transaction; `work` gets the object store and may set `answer.value`.
  const inStore = async (name, mode, work, from = database) => {
    const open = await from;
    return new Promise((resolve, reject) => {
      const tx = open.transaction(name, mode, { durability: "strict" });
      const answer = {};
      work(tx.objectStore(name), answer);
      tx.oncomplete = () => resolve(answer.value);
      tx.onabort = tx.onerror = () => reject(tx.error);
    });
  };

  const lasting = {
    all: () =>
      inStore("readings", "readonly", (store, answer) => {
        store.getAll().onsuccess = (event) => (answer.value = event.target.result);
      }),
    put: (entry) => inStore("readings", "readwrite", (store) => store.put(entry)),
    remove: (nth) => inStore("readings", "readwrite", (store) => store.delete(nth)),
    // How long until this page may send: not at all when nobody else does, or when whoever did has
    // not been heard of since.
    lease: (held) =>
      inStore("lease", "readwrite", (store, answer) => {
        store.get("sender").onsuccess = (event) => {
          const now = Date.now();
          const other = event.target.result;
          const left = other && other.tab !== tab ? other.until - now : 0;
          answer.value = left > LEASE_MS ? 0 : Math.max(0, left);
          if (!answer.value) store.put({ tab, until: held ? now + LEASE_MS : 0 }, "sender");
        };
      }),
  };

  // A browser that keeps nothing: readings still wait here, as long as the page is open.
  const passing = (() => {
    const kept = new Map();
    let last = 0;
    return {
      all: async () => Array.from(kept.values()),
      put: async (entry) => {
        entry.nth ??= ++last;
        kept.set(entry.nth, entry);
      },
      remove: async (nth) => kept.delete(nth),
      lease: async () => 0,
    };
  })();
  let store = null;
  const use = async (verb, ...given) => {
    store ??= (await database) ? lasting : passing;
    try {
      return await store[verb](...given);
    } catch {
      store = passing; // its disk is full, or the browser forgot its store
      return store[verb](...given);
    }
  };

  const others = "BroadcastChannel" in window ? new BroadcastChannel("seatwright") : null;
  const tellOthers = () => others?.postMessage("readings");

  // What touches the store does so one after another, in the order in which it was typed.
  let last = Promise.resolve();
  let underway = 0;
  const inOrder = (work) => {
    underway += 1;
    const done = last.then(work).finally(() => (underway -= 1));
    last = done.catch(() => {});
    return done;
  };

  // ---- What stands on the page -----------------------------------------------------------------

  const keeping = () => all("form[data-keeps]");
  const formOf = (entry) => keeping().find((form) => form.getAttribute("action") === entry.action);
  const readOf = (form, name) => form?.elements.namedItem(name);
  const isRead = (field) => field instanceof HTMLInputElement && field.matches("input.read");

  const hadAt = (form, name) => form.elements.namedItem(`had.${name}`)?.value ?? "";
  const carry = (form, name, had) => {
    let hidden = form.elements.namedItem(`had.${name}`);
    if (!had) {
      hidden?.remove();
      return;
    }
    if (!hidden) {
      hidden = document.createElement("input");
      hidden.type = "hidden";
      hidden.name = `had.${name}`;
      (form.querySelector("#carried") ?? form).append(hidden);
    }
    hidden.value = had;
  };

  // How it was read: all of a form but its readings. What is decided in the rows is sent by itself.
  const surroundings = (form, withDecisions) =>
    Array.from(new FormData(form)).filter(([name, value]) => {
      const field = form.elements.namedItem(name);
      if (typeof value !== "string" || name === "client_key" || name.startsWith("had.")) return false;
      if (isRead(field)) return false;
      const first = field instanceof RadioNodeList ? field[0] : field;
      return withDecisions || !first?.closest("td");
    });

  const say = (field, words, state) => {
    const box = field.closest(".read-box");
    if (!box) return;
    let said = box.querySelector(".ack");
    if (!said) {
      said = document.createElement("small");
      said.className = "ack";
      box.append(said);
    }
    said.textContent = words;
    box.dataset.state = state;
  };
  const unsay = (field) => {
    const box = field.closest(".read-box");
    box?.querySelector(".ack")?.remove();
    delete box?.dataset.state;
  };

  // ---- Keeping ---------------------------------------------------------------------------------

  const keep = (form, field) => {
    const reads = isRead(field);
    const entry = {
      key: randomHex(16),
      action: form.getAttribute("action"),
      page: form.dataset.page ?? form.getAttribute("action"),
      field: reads ? field.name : "",
      label: reads ? (field.getAttribute("aria-label") ?? field.labels?.[0]?.textContent ?? "") : "",
      typed: reads ? field.value.trim() : "",
      had: reads ? hadAt(form, field.name) : "",
      after: "",
      how: surroundings(form, !reads),
      who: person,
      name: personName,
      at: Date.now(),
      state: "waiting",
      tried: false,
    };
    form.toggleAttribute("data-sending", true);
    inOrder(async () => {
      const here = (await use("all")).filter((one) => one.action === entry.action);
      // What was refused may be right with another gauge.
      for (const one of here.filter((each) => each.state === "refused" && !reads))
        await use("put", { ...one, how: surroundings(form, false) });
      const before = here.filter((one) => one.field === entry.field).at(-1);
      if (before && (before.state === "refused" || (!before.tried && before.who === person))) {
        // It never reached the record: what is typed now takes its place.
        await use("remove", before.nth);
        entry.after = before.after;
      } else if (before && reads) {
        entry.after = before.key;
      }
      await use("put", entry);
      await show();
    });
    tellOthers();
    return drain();
  };

  document.addEventListener("change", (event) => {
    const form = event.target.form;
    if (!form?.matches("form[data-keeps]") || !person) return;
    keep(form, event.target);
  });

  // ---- Sending ---------------------------------------------------------------------------------

  let away = 0; // since when the PC does not answer
  let trouble = ""; // what the PC says of itself, when it answers and cannot store
  let isSignedOut = false;
  let mayNot = "";
  let draining = null;
  let again = false;

  const drain = () => {
    again = true;
    draining ??= (async () => {
      try {
        while (again) {
          again = false;
          await last;
          await sendAll();
        }
      } finally {
        draining = null;
        for (const form of keeping()) form.removeAttribute("data-sending");
        await show();
      }
    })();
    return draining;
  };

  const sendAll = async () => {
    if (!person || isSignedOut || mayNot) return;
    if (!(await use("all")).some((entry) => entry.state === "waiting")) return;
    const left = await use("lease", true);
    if (left) {
      setTimeout(drain, left); // another page of this browser sends
      return;
    }
    const renews = setInterval(() => use("lease", true), RENEW_MS);
    try {
      for (;;) {
        const batch = await inOrder(async () => {
          const found = nextOf(await use("all"));
          for (const one of found) await use("put", Object.assign(one, { tried: true }));
          return found;
        });
        if (batch.length === 0 || !(await send(batch))) return;
      }
    } finally {
      clearInterval(renews);
      await use("lease", false);
      tellOthers();
    }
  };

  // The first that waits and those after it that go with it; each field once. What the page shows
  // as refused goes along, so that the answer speaks of it again.
  const nextOf = (entries) => {
    const kind = (one) => JSON.stringify([one.action, one.who, one.how]);
    const first = entries.find((one) => one.state === "waiting");
    if (!first) return [];
    const batch = [];
    const taken = new Set();
    for (const one of entries.filter((each) => each.state === "waiting")) {
      if (kind(one) !== kind(first) || taken.has(one.field)) break;
      taken.add(one.field);
      batch.push(one);
    }
    const refused = entries.filter(
      (one) => one.state === "refused" && kind(one) === kind(first) && !taken.has(one.field),
    );
    return [...batch, ...refused];
  };

  const send = async (batch) => {
    const [first] = batch;
    const body = new URLSearchParams(first.how);
    body.append("client_key", tab + randomHex(12));
    body.append("typed_by", first.who);
    for (const one of batch.filter((each) => each.field)) {
      body.append(one.field, one.typed);
      body.append(`key.${one.field}`, one.key);
      body.append(`had.${one.field}`, one.had);
      body.append(`waited.${one.field}`, String(Math.max(0, Math.round((Date.now() - one.at) / 1000))));
    }
    let answer, text;
    try {
      answer = await fetch(first.action, {
        method: "POST",
        body,
        headers: { "HX-Request-Type": "partial", "HX-Current-URL": location.href },
        signal: AbortSignal.timeout(WAIT_MS),
      });
      text = await answer.text();
    } catch {
      noAnswer();
      return false;
    }
    if (answer.status === 401 || answer.redirected) {
      isSignedOut = true;
      return false;
    }
    const told = new DOMParser().parseFromString(text, "text/html");
    if (answer.status === 403) {
      mayNot = told.querySelector("main p")?.textContent ?? "This sign-in may not record readings.";
      return false;
    }
    if (answer.status >= 500) {
      trouble = told.querySelector("main p")?.textContent.trim() ?? "";
      noAnswer();
      return false;
    }
    trouble = "";
    reached();
    await inOrder(() => take(batch, told));
    const form = formOf(first);
    if (form) await showAnswer(form, told, text);
    return true;
  };

  // What the answer says of each: it stands in the record and leaves the tablet, or it was refused.
  const take = async (batch, told) => {
    const now = told.querySelector("[data-now]");
    const settled = new Set((now?.dataset.settled ?? "").split(" ").filter(Boolean));
    const form = formOf(batch[0]);
    const refusedAll = wordsOf(told) || "It was not taken.";
    const entries = await use("all");
    for (const one of batch) {
      const later = entries.filter((each) => each.after === one.key);
      const isIn = !one.field || settled.has(one.field);
      const read = readOf(form, one.field);
      if (isIn) {
        await use("remove", one.nth);
        const kept = all("data", now ?? told).find((each) => each.value === one.field);
        const had = kept && kept.textContent === one.typed ? (kept.dataset.had ?? "") : "";
        for (const next of later) await use("put", Object.assign(next, { had, after: "" }));
        if (!isRead(read)) continue;
        carry(form, one.field, had);
        if (read.value.trim() === one.typed) {
          read.defaultValue = read.value;
          if (one.typed) say(read, `kept ${now?.dataset.now ?? clock(Date.now())}`, "kept");
          else unsay(read);
        }
      } else if (later.length) {
        // Typed again meanwhile: that is what counts.
        await use("remove", one.nth);
        for (const next of later) await use("put", Object.assign(next, { had: one.had, after: "" }));
      } else {
        const mine = read?.id ? told.querySelector(`a[href="#${CSS.escape(read.id)}"]`) : null;
        const words = (mine?.textContent ?? refusedAll).trim();
        await use("put", Object.assign(one, { state: "refused", words }));
        if (isRead(read) && read.value.trim() === one.typed) say(read, "not kept", "refused");
      }
    }
  };
  const wordsOf = (told) =>
    (told.querySelector(".summary li, .clash p") ?? told.querySelector("main p"))?.textContent.trim();

  const showAnswer = async (form, told, text) => {
    const now = told.querySelector("[data-now]");
    if (!now) {
      changedElsewhere();
      return;
    }
    await htmx.swap({ text, sourceElement: form, target: form.dataset.keeps, swap: form.dataset.swap });
    await follow(form, now);
    seenAt = Date.now();
  };

  // Fields that nobody has touched here show what is kept there now.
  const follow = async (form, now) => {
    const waits = new Set((await use("all")).map((one) => one.field));
    const names = new Set();
    for (const kept of all("data", now)) {
      const read = readOf(form, kept.value);
      names.add(kept.value);
      if (!isRead(read) || waits.has(kept.value) || read === document.activeElement) continue;
      if (read.value !== read.defaultValue) continue;
      if (read.value !== kept.textContent) {
        read.value = read.defaultValue = kept.textContent;
        if (kept.textContent) say(read, kept.dataset.by ?? "", "theirs");
        else unsay(read);
      }
      carry(form, kept.value, kept.dataset.had ?? "");
    }
  };

  // ---- Two readings at one field: the choice ---------------------------------------------------

  document.addEventListener("click", (event) => {
    const button = event.target.closest?.('button[name="choose"]');
    const form = button?.form;
    if (!form?.matches("form[data-keeps]") || !person) return;
    event.preventDefault();
    const cut = button.value.indexOf(":");
    const [way, name] = [button.value.slice(0, cut), button.value.slice(cut + 1)];
    const read = readOf(form, name);
    carry(form, name, button.dataset.had);
    read.value = button.dataset.text;
    unsay(read);
    if (way === "mine") {
      keep(form, read).then(() => read.focus());
      return;
    }
    read.defaultValue = read.value;
    read.removeAttribute("aria-invalid");
    inOrder(async () => {
      for (const one of await use("all"))
        if (one.action === form.getAttribute("action") && one.field === name)
          await use("remove", one.nth);
      await show();
    });
    inOrder(() => lookBeside(form));
  });

  // ---- Following others ------------------------------------------------------------------------

  let newest = Number(document.body.dataset.newest ?? 0);
  let seenAt = Date.now();
  const job = document.querySelector("[data-live-job]")?.dataset.liveJob;

  const get = (url) =>
    fetch(url, {
      headers: { "HX-Request-Type": "partial", "Asked-Itself": "yes" },
      signal: AbortSignal.timeout(WAIT_MS),
    });

  const lookBeside = async (form) => {
    const page = new URL(form.dataset.page ?? form.getAttribute("action"), location.href);
    page.search = location.search;
    for (const [name, value] of surroundings(form, true)) page.searchParams.set(name, value);
    page.searchParams.set("beside", "yes");
    const answer = await get(page);
    const text = await answer.text();
    if (!answer.ok) return;
    await showAnswer(form, new DOMParser().parseFromString(text, "text/html"), text);
  };

  const lookAgain = async (regions) => {
    const answer = await get(location.href);
    const text = await answer.text();
    if (!answer.ok || answer.redirected) return;
    for (const region of regions) {
      const select = `#${CSS.escape(region.id)}`;
      await htmx.swap({ text, sourceElement: region, target: select, swap: "outerMorph", select });
    }
    seenAt = Date.now();
  };

  const changedElsewhere = () => {
    const toast = document.getElementById("toast");
    const line = document.createElement("p");
    line.className = "toast";
    const again = document.createElement("a");
    again.href = location.href;
    again.textContent = "Open it again";
    line.append("This page has changed elsewhere. ", again);
    toast?.replaceChildren(line);
  };

  const look = async () => {
    const regions = all("[data-live]");
    const forms = keeping();
    const waits = underway || shown.length > 0 || away;
    if (!person || document.hidden || isSignedOut || !(regions.length || forms.length || waits)) return;
    const about = job ? `&job=${job}` : "";
    try {
      const answer = await fetch(`/live?since=${newest}&but=${tab}${about}`, {
        headers: { Accept: "application/json" },
        signal: AbortSignal.timeout(WAIT_MS),
      });
      if (answer.status === 401) {
        isSignedOut = true;
        await show();
        return;
      }
      if (!answer.ok) return;
      if (answer.status === 200) {
        if (regions.length) await lookAgain(regions);
        for (const form of forms) if (!form.hasAttribute("data-sending")) await lookBeside(form);
      }
      newest = Number(answer.headers.get("Newest") ?? newest);
      seenAt = Date.now();
      reached();
    } catch {
      noAnswer();
    }
  };
  const noAnswer = () => {
    away ||= Date.now();
    show();
  };
  const reached = () => {
    if (!away) return;
    away = 0;
    drain();
  };
  const lookOn = async () => {
    await look();
    setTimeout(lookOn, LOOK_MS);
  };
  document.addEventListener("visibilitychange", () => document.hidden || look());
  window.addEventListener("online", look);

  // ---- What waits, in words --------------------------------------------------------------------

  let shown = [];
  const place = document.getElementById("waiting");

  const show = async () => {
    shown = await use("all");
    for (const one of shown.filter((each) => each.field && each.state === "waiting")) {
      const read = readOf(formOf(one), one.field);
      if (isRead(read) && read.value.trim() === one.typed && (away || isSignedOut || mayNot))
        say(read, "waits here", "waiting");
    }
    tell();
  };

  const counted = (entries) => {
    const many = entries.filter((one) => one.field).length;
    return `${many} ${many === 1 ? "reading" : "readings"}`;
  };
  const typedBy = (entries) => [...new Set(entries.map((one) => one.name))].join(" and ");
  const waitHere = (entries) =>
    `${counted(entries)} of ${typedBy(entries)} ${entries.length === 1 ? "waits" : "wait"} on this tablet`;
  const line = (...parts) => {
    const found = document.createElement("p");
    found.append(...parts);
    return found;
  };
  const bold = (words) => {
    const found = document.createElement("b");
    found.textContent = words;
    return found;
  };

  const tell = (because = "") => {
    if (!place) return;
    const waiting = shown.filter((one) => one.field && one.state === "waiting");
    const elsewhere = shown.filter((one) => one.state === "refused" && !readOf(formOf(one), one.field));
    const lines = [];
    if (because) lines.push(line(because));
    if (waiting.length && !person)
      lines.push(
        line(
          bold(`${waitHere(waiting)}. `),
          "Whoever signs in sends what waits; it stays under the name of who typed it.",
        ),
      );
    else if (isSignedOut && (waiting.length || keeping().length))
      lines.push(line(bold("The sign-in has ended. "), waiting.length ? `${waitHere(waiting)}. ` : "", signInLink()));
    else if (mayNot && waiting.length)
      lines.push(line(bold(`${waitHere(waiting)}. `), mayNot));
    else if (away)
      lines.push(
        line(
          bold(trouble ? `${trouble} ` : `No answer from the shop's PC since ${clock(away)}. `),
          waiting.length
            ? `${waitHere(waiting)} and ${waiting.length === 1 ? "is sent by itself" : "are sent by themselves"}. `
            : "What you type is kept on this tablet and sent by itself. ",
          `This page stands as of ${clock(seenAt)}. Do not load it again before the PC answers: the readings would stay, the page would not come.`,
        ),
      );
    for (const one of elsewhere) lines.push(refusedLine(one));
    // Not anew when nothing changed: it is read aloud each time.
    if (place.textContent !== lines.map((each) => each.textContent).join("")) place.replaceChildren(...lines);
    place.hidden = lines.length === 0;
  };

  const signInLink = () => {
    const way = document.createElement("a");
    way.href = `/sign-in?next=${encodeURIComponent(keeping()[0]?.dataset.page ?? location.pathname)}`;
    way.textContent = "Sign in to go on";
    return way;
  };

  const refusedLine = (one) => {
    const way = document.createElement("a");
    way.href = one.page;
    way.textContent = "Go there";
    const drop = document.createElement("button");
    drop.type = "button";
    drop.className = "link";
    drop.textContent = "Take it off this tablet";
    drop.addEventListener("click", () =>
      inOrder(async () => {
        await use("remove", one.nth);
        await show();
      }),
    );
    return line(
      bold(`${one.typed || "An emptied field"} of ${one.name} was not taken. `),
      `${one.words} `,
      way,
      " ",
      drop,
    );
  };

  // ---- Before a page is left by a button -------------------------------------------------------

  // What needs every reading in the record first, and the change of person: they send what waits.
  const asksFirst = (form) => {
    if (form.matches("[data-keeps]")) return "keeps";
    if (form.matches("[data-needs-sent]")) return "needs";
    return form.getAttribute("action") === "/sign-out" ? "person" : "";
  };
  const WORDS = {
    keeps: "They go first: press again once the PC answers.",
    needs: "This needs every reading in the record. Nothing was done yet; press again once they are sent.",
    person: "Press once more to hand over all the same: they stay here under that name, and go when the PC takes them.",
  };
  let passes = null;
  // The button that was pressed, or the same one as the answer to the last reading drew it anew; none
  // when that greyed it.
  const standing = (button, form) =>
    !button || button.form === form
      ? button
      : Array.from(form.elements).find(
          (each) =>
            each.type === "submit" &&
            each.name === button.name &&
            each.value === button.value &&
            each.textContent === button.textContent,
        );

  document.addEventListener(
    "submit",
    (event) => {
      const { target: form, submitter } = event;
      const asks = asksFirst(form);
      if (!asks || passes === form || (!underway && !draining && shown.length === 0)) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      if (form.hasAttribute("data-asked")) return;
      form.toggleAttribute("data-asked", true);
      drain().then(async () => {
        form.removeAttribute("data-asked");
        const left = (await use("all")).filter(
          (one) => one.field && (one.state === "waiting" || asks !== "keeps"),
        );
        if (left.length && !(asks === "person" && form.hasAttribute("data-told"))) {
          form.toggleAttribute("data-told", true);
          const what = left.slice(0, 4).map((one) => `${one.label} ${one.typed}`.trim());
          const more = left.length > 4 ? ` and ${left.length - 4} more` : "";
          tell(`${counted(left)} of ${typedBy(left)} ${left.length === 1 ? "is" : "are"} not in the record yet: ${what.join("; ")}${more}. ${WORDS[asks]}`);
          place.scrollIntoView({ block: "nearest" });
          return;
        }
        const button = standing(submitter, form);
        if (submitter && !button) return;
        passes = form;
        form.requestSubmit(button);
        passes = null;
      });
    },
    true,
  );

  // ---- Forms that are one record ---------------------------------------------------------------

  // What is typed into a form that says so stays on this tablet, for the person who typed it, until
  // the PC has recorded the form: over a reload, a power cut, a picture taken in between.
  const HOLDS_MS = 12 * 3_600_000; // after that it would be found by surprise
  const ANSWERS_MS = 200; // another tab of this browser
  const TYPED = "form[data-typed]";
  const inDrafts = (mode, work) => inStore("forms", mode, work, drafts);
  const draftOf = (key) =>
    inDrafts("readonly", (store, answer) => {
      store.get(key).onsuccess = (event) => (answer.value = event.target.result);
    });
  const putDraft = (key, draft) => inDrafts("readwrite", (store) => store.put(draft, key));
  const dropDraft = (key) => inDrafts("readwrite", (store) => store.delete(key));

  const aboutForm = (form) => [person, form.getAttribute("action"), form.dataset.typed];
  const typedKey = (form) => JSON.stringify([...aboutForm(form), tab]);
  const sendKey = (form) => form.elements.namedItem("client_key")?.value ?? "";
  const isTicked = (field) => field.type === "radio" || field.type === "checkbox";
  const nameOf = (field) => (isTicked(field) ? `${field.name}=${field.value}` : field.name);
  const typedInto = (form) =>
    Array.from(form.elements).filter(
      (field) => field.name && !["hidden", "file", "password", "submit", "button"].includes(field.type),
    );
  const asDrawn = (field) => {
    if (isTicked(field)) return field.defaultChecked;
    if (field.type !== "select-one") return field.defaultValue;
    const chosen = Array.from(field.options).find((option) => option.defaultSelected);
    return (chosen ?? field.options[0])?.value ?? "";
  };
  const asTyped = (field) => (isTicked(field) ? field.checked : field.value);
  // A form that came back refused is drawn with what was typed, which is on no record.
  const isSentBack = (form) =>
    Boolean(document.querySelector(".summary") || form.querySelector("[aria-invalid]"));
  const isOld = (draft) => Date.now() - draft.at > draft.holds;

  const wasTaken = async (key) => {
    const answer = await fetch(`/taken?key=${key}`, {
      headers: { Accept: "application/json" },
      signal: AbortSignal.timeout(WAIT_MS),
    });
    if (!answer.ok) throw new Error("not known");
    return answer.status === 200;
  };
  // What is typed in another tab that is open belongs there.
  const isOpenElsewhere = (other) =>
    new Promise((resolve) => {
      if (!others || !other || other === tab) {
        resolve(false);
        return;
      }
      const hear = (event) => event.data?.here === other && resolve(true);
      others.addEventListener("message", hear);
      others.postMessage({ asks: other });
      setTimeout(() => {
        others.removeEventListener("message", hear);
        resolve(false);
      }, ANSWERS_MS);
    });
  others?.addEventListener("message", (event) => {
    if (event.data?.asks === tab) others.postMessage({ here: tab });
  });

  const noteTyped = async (form) => {
    const key = typedKey(form);
    const before = isSentBack(form) ? (await draftOf(key))?.fields : null;
    const fields = {};
    for (const field of typedInto(form)) {
      const drawn = before?.[nameOf(field)]?.[0] ?? asDrawn(field);
      if (asTyped(field) !== drawn) fields[nameOf(field)] = [drawn, asTyped(field)];
    }
    const holds = Number(form.dataset.typedMinutes ?? 0) * 60_000 || HOLDS_MS;
    if (Object.keys(fields).length === 0) await dropDraft(key);
    else await putDraft(key, { at: Date.now(), holds, sends: sendKey(form), fields });
  };

  const putBack = (form, draft) => {
    let back = false;
    for (const field of typedInto(form)) {
      const [drawn, typed] = draft.fields[nameOf(field)] ?? [];
      // Only where nobody wrote anything else meanwhile, here or elsewhere.
      if (typed === undefined || drawn !== asDrawn(field) || asTyped(field) !== drawn) continue;
      if (isTicked(field)) field.checked = typed;
      else field.value = typed;
      const fold = field.closest("details");
      if (fold) fold.open = true;
      back = true;
    }
    return back;
  };

  // Each draft of this person: what the PC has goes, and what it has not stands in its form again.
  const restoreTyped = async () => {
    if (!person) return;
    const found = await inDrafts("readonly", (store, answer) => {
      store.getAllKeys().onsuccess = (event) => (answer.value = event.target.result);
    });
    let back = false;
    for (const key of found) {
      const draft = await draftOf(key);
      if (!draft) continue;
      if (isOld(draft)) {
        await dropDraft(key);
        continue;
      }
      const [who, action, which, typedIn] = JSON.parse(key);
      if (who !== person) continue;
      const about = JSON.stringify([who, action, which]);
      const form = all(TYPED).find((each) => JSON.stringify(aboutForm(each)) === about);
      try {
        if (draft.sends && (await wasTaken(draft.sends))) {
          await dropDraft(key);
          continue;
        }
      } catch {
        continue; // sent or not? The next page asks again.
      }
      if (!form || (await isOpenElsewhere(typedIn))) continue;
      if (!isSentBack(form)) back = putBack(form, draft) || back;
      await dropDraft(key);
      await putDraft(typedKey(form), { ...draft, sends: sendKey(form) });
    }
    if (!back) return;
    const said = document.createElement("p");
    said.className = "toast";
    said.textContent = "What you typed here before is back. It is not sent yet.";
    document.getElementById("toast")?.replaceChildren(said);
    setTimeout(() => said.remove(), 8_000);
  };

  const noted = new Set();
  let noting = restoreTyped().catch(() => {}); // a browser that keeps nothing forgets
  const note = (event) => {
    const form = event.target.form;
    if (!person || !form?.matches(TYPED) || noted.has(form)) return;
    noted.add(form);
    noting = noting
      .then(() => {
        noted.delete(form);
        return noteTyped(form);
      })
      .catch(() => {});
  };
  document.addEventListener("input", note);
  document.addEventListener("change", note);

  // ---- Where one was ---------------------------------------------------------------------------

  // A page that is loaded again after a power cut opens at the field one was at; a home page that is
  // opened then leads back to where one was. Comfort only: what was typed is kept above.
  const HOMES = ["/counter", "/bench", "/office"];
  const PLACE_MS = 24 * 3_600_000;
  const placeKey = `place ${person}`;
  const here = location.pathname + location.search;
  const readPlace = () => {
    try {
      const found = JSON.parse(localStorage.getItem(placeKey));
      return found && Date.now() - found.at < PLACE_MS ? found : null;
    } catch {
      return null;
    }
  };
  const notePlace = (field) => {
    const title = document.title.replace(/ · Seatwright$/, "");
    try {
      localStorage.setItem(placeKey, JSON.stringify({ at: Date.now(), here, title, field, tab }));
    } catch {
      // A browser that keeps nothing opens as if for the first time.
    }
  };
  // Not led here by a page of ours, or by the sign-in alone.
  const isOpenedAnew = () => {
    const [opening] = performance.getEntriesByType("navigation");
    if (opening && opening.type !== "navigate") return true;
    return !document.referrer || new URL(document.referrer).pathname.startsWith("/sign-in");
  };
  let isTouched = false;
  for (const kind of ["input", "pointerdown", "keydown"])
    document.addEventListener(kind, () => (isTouched = true), { once: true, capture: true });

  const goBackTo = (id) => {
    const field = id ? document.getElementById(id) : null;
    if (!field || isTouched || field.disabled || !(field.checkVisibility?.() ?? true)) return;
    // Kept already: the gauge goes on with the next one.
    const isKept = isRead(field) && field.form?.matches("[data-keeps]") && field.value.trim() !== "";
    if (isKept && !field.hasAttribute("aria-invalid"))
      field.dispatchEvent(new Event("gauge:on", { bubbles: true }));
    else field.focus();
  };
  const sayWhere = async (was) => {
    if (HOMES.includes(new URL(was.here, location.href).pathname)) return;
    if (await isOpenElsewhere(was.tab)) return;
    const way = document.createElement("a");
    way.className = "button second";
    way.href = was.here;
    way.textContent = "Go on there";
    const words = document.createElement("span");
    words.append("You were at ", bold(was.title), `, ${clock(was.at)}.`);
    const said = line(words, way);
    said.className = "note asked";
    said.id = "was-at";
    document.getElementById("main")?.prepend(said);
  };
  const comeBack = async () => {
    if (!person || !document.body.hasAttribute("data-opens-again")) return;
    const was = isOpenedAnew() ? readPlace() : null;
    if (was?.here === here) goBackTo(was.field);
    if (was && HOMES.includes(location.pathname)) {
      await sayWhere(was);
      return; // until one goes on from here, that is where one was
    }
    if (was?.here !== here) notePlace("");
    document.addEventListener("focusin", (event) => {
      if (event.target.id && event.target.closest("main")) notePlace(event.target.id);
    });
    const { activeElement: at } = document;
    if (at?.id && at.closest("main")) notePlace(at.id);
  };

  // ---- As the page opens -----------------------------------------------------------------------

  // What waits here stands in its field again, whatever the PC knew when it made this page.
  const restore = async () => {
    for (const one of await use("all")) {
      const read = readOf(formOf(one), one.field);
      if (!isRead(read)) continue;
      read.value = one.typed;
      carry(read.form, one.field, one.had); // what its page showed when it was typed
      say(read, one.state === "waiting" ? "waits here" : "not kept", one.state);
      if (one.state !== "refused") continue;
      read.setAttribute("aria-invalid", "true");
      await use("put", Object.assign(one, { state: "waiting" }));
    }
  };
  others?.addEventListener("message", (event) => {
    if (event.data === "readings") show();
  });
  inOrder(restore).then(drain).then(lookOn);
  Promise.all([last, noting]).then(comeBack);
})();
