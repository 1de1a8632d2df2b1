// The bench page: hands what is moved to the engine beside it and shows what that reads.
"use strict";
(() => {
	const root = document.getElementById("bench"), state = document.getElementById("bench-state");
	if (!root || root.dataset.built !== "yes") return;
	const sealed = root.dataset.sealed !== undefined;
	const by = id => document.getElementById(id);
	const looks = new Map(), devices = new Map(), history = new Map();
	for (const li of document.querySelectorAll("li[data-look]")) {
		const part = c => li.querySelector("." + c);
		looks.set(li.dataset.look, {li, name: li.querySelector("strong").textContent, unit: li.closest("section").querySelector("h3").firstChild.textContent.trim(),
			band: part("band"), level: part("level"), top: part("most"), is: part("is"), expect: part("expect"), tells: part("tells")});
	}
	for (const d of document.querySelectorAll("[data-device]")) devices.set(d.dataset.device, d);

	const worker = new Worker(root.dataset.worker);
	const ask = m => worker.postMessage(m);
	const put = (e, text) => { if (e.textContent !== text) e.textContent = text; };
	const tell = text => { state.hidden = text === ""; put(state, text); };

	// what is said aloud is said at most every two seconds, and the last of it always
	let shown = null, spoke = -2000, waits = 0;
	const speak = f => {
		const now = performance.now();
		if (now - spoke < 2000) { waits ||= setTimeout(() => { waits = 0; speak(shown); }, 2000 - (now - spoke)); return; }
		spoke = now;
		if (f.sealed) { put(by("said"), ""); return; }
		const other = f.looks.filter(x => x.d && looks.has(x.k));
		if (other.length === 0) { put(by("said"), "Every reading is as expected."); return; }
		const x = other[0], l = looks.get(x.k);
		put(by("said"), "Other than expected: " + l.unit + ", " + l.name + ": " + x.x + ", expected " + x.e + (other.length > 1 ? "; and " + (other.length - 1) + " more." : "."));
	};
	const percent = x => (100 * x).toFixed(1) + "%";
	const show = f => {
		shown = f;
		put(by("clock"), f.clock);
		for (const x of f.looks) {
			const l = looks.get(x.k);
			if (!l) continue;
			l.level.style.bottom = percent(x.v);
			l.band.hidden = f.sealed;
			l.band.style.bottom = percent(x.lo);
			l.band.style.height = percent(Math.max(0.02, x.hi - x.lo));
			put(l.is, x.x);
			put(l.expect, x.e ? "expected " + x.e : "");
			put(l.tells, x.d ? "! other than expected" : "");
			l.li.classList.toggle("other", x.d);
			put(l.top, x.top);
			if (!history.has(x.k)) history.set(x.k, []);
			const h = history.get(x.k);
			const was = h.at(-1);
			if (x.top && (!was || f.t > was.t)) h.push({t: f.t, p: x.p, lo: x.pl, hi: x.ph, x: x.x});
			if (h.length > 6000) h.splice(0, 1000);
		}
		for (const [k, at] of Object.entries(f.at)) {
			const d = devices.get(k), s = d?.querySelector("select");
			if (s && s.value !== at && document.activeElement !== s) {
				if (![...s.options].some(o => o.value === at)) s.add(new Option(at, at));
				s.value = at;
			}
			if (d && !s) { const p = d.querySelector(".at"); if (p) put(p, at); }
		}
		const text = f.wrong.join("\n");
		if (by("wrong").dataset.text !== text) {
			by("wrong").dataset.text = text;
			by("wrong").replaceChildren(...(f.wrong.length ? [Object.assign(document.createElement("h2"), {textContent: "Stands otherwise than the record sets it"}), Object.assign(document.createElement("ul"), {})] : []));
			for (const w of f.wrong) by("wrong").lastChild.append(Object.assign(document.createElement("li"), {textContent: w}));
		}
		speak(f);
		draw();
	};

	// the curve of one gauge
	const svg = by("curves"), ns = "http://www.w3.org/2000/svg";
	const make = (name, attributes, text) => {
		const e = document.createElementNS(ns, name);
		for (const [k, v] of Object.entries(attributes)) e.setAttribute(k, v);
		if (text) e.textContent = text;
		return e;
	};
	let drawn = 0;
	const draw = always => {
		const now = performance.now();
		if (!always && now - drawn < 200) return;
		drawn = now;
		const h = history.get(by("curve").value) ?? [];
		if (h.length === 0) return;
		const l = looks.get(by("curve").value), a = h[0], z = h.at(-1), long = Math.max(10, z.t - a.t), top = Math.max(...h.map(x => Math.max(x.p, x.hi)), 100e3);
		const X = t => (10 + 620 * (t - a.t) / long).toFixed(1), Y = p => (230 - 210 * Math.max(0, p) / top).toFixed(1);
		const every = Math.max(1, Math.floor(h.length / 600)), some = h.filter((_, i) => i % every === 0 || i === h.length - 1);
		const line = (what, c) => make("polyline", {points: some.map(x => X(x.t) + "," + Y(what(x))).join(" "), class: c});
		const says = l.unit + ", " + l.name + ": " + a.x + " at " + a.t.toFixed(0) + " s, " + z.x + " at " + z.t.toFixed(0) + " s";
		const title = by("curve-says");
		put(title, says);
		const parts = [title, make("line", {x1: 10, y1: 230, x2: 630, y2: 230, class: "line"}), make("line", {x1: 10, y1: 20, x2: 10, y2: 230, class: "line"})];
		if (z.hi > 0) parts.push(line(x => x.lo, "thin"), line(x => x.hi, "thin"));
		parts.push(line(x => x.p, "pipe"), make("text", {x: 12, y: 14}, a.x + " → " + z.x), make("text", {x: 628, y: 250, class: "end"}, z.t.toFixed(0) + " s"), make("text", {x: 12, y: 250}, a.t.toFixed(0) + " s"));
		svg.replaceChildren(...parts);
	};
	for (const [k, l] of looks) if (l.li.dataset.kind === "gauge") by("curve").add(new Option(l.unit + ", " + l.name, k));
	const pipe = [...by("curve").options].find(o => /brake|train/i.test(o.text) && /pipe/i.test(o.text));
	if (pipe) by("curve").value = pipe.value;
	by("curve").onchange = () => draw(true);

	worker.onmessage = e => {
		const m = e.data;
		if (m.frame) show(m.frame);
		if (m.ready) { tell(""); root.hidden = false; document.documentElement.dataset.bench = "ready"; }
		if (m.error) tell("The bench says: " + m.error);
		if (m.pace !== undefined) for (const b of document.querySelectorAll("[data-pace]")) b.setAttribute("aria-pressed", String(Number(b.dataset.pace) === m.pace));
		if (m.looked) {
			const d = devices.get(m.looked.k), s = d.querySelector("select");
			if (![...s.options].some(o => o.value === m.looked.at)) s.add(new Option(m.looked.at, m.looked.at));
			s.value = m.looked.at;
			const p = d.querySelector(".looks") ?? d.appendChild(Object.assign(document.createElement("p"), {className: "looks"}));
			put(p, "It stands " + m.looked.at + (m.looked.looks ? ": " + m.looked.looks : "") + ".");
		}
		if (m.done && m.why === "share") {
			const a = document.createElement("a");
			a.href = m.done.address;
			a.textContent = location.origin + m.done.address;
			by("link").replaceChildren(a);
		}
		if (m.done && m.why === "save") {
			if (!m.done.procedure) { by("link").textContent = "Open the envelope first: the procedure says what is in it."; return; }
			const a = document.createElement("a");
			a.href = URL.createObjectURL(new Blob([JSON.stringify(m.done.procedure, null, 1)], {type: "application/json"}));
			a.download = "procedure.json";
			a.id = "saved";
			a.textContent = "procedure.json";
			by("link").replaceChildren(a, " – run it with: headstock run --file procedure.json '" + m.done.consist + "'");
			a.click();
		}
		if (m.revealed) {
			const r = m.revealed, say = text => Object.assign(document.createElement("p"), {textContent: text});
			const more = document.createElement("a");
			more.href = r.more;
			more.textContent = "All of what is in the envelope";
			by("revealed").replaceChildren(say("It was " + r.was + "."), say(r.found ? "You looked at it." : "You did not look at it."), say("The look that would have found it: " + r.look + "."),
				say(r.cab ? "From the driving cab: " + r.cab + "." : "From the driving cab nothing tells of it."),
				say(r.looks.length ? "You looked at " + r.looks.length + ": " + r.looks.join("; ") + "." : "You looked at no device."), more);
		}
		if (m.measured) document.documentElement.dataset.measured = m.measured.toFixed(0);
	};
	worker.onerror = () => tell("The engine does not start in this browser.");

	document.addEventListener("click", e => {
		const b = e.target.closest("button");
		if (!b) return;
		if (b.dataset.pace !== undefined) ask({do: "pace", pace: Number(b.dataset.pace)});
		if (b.dataset.step !== undefined) ask({do: "step", seconds: Number(b.dataset.step)});
		if (b.classList.contains("see")) ask({do: "look", key: b.closest("[data-device]").dataset.device});
		if (b.id === "share" || b.id === "save") ask({do: "done", why: b.id});
		if (b.id === "reveal") ask({do: "reveal"});
		if (b.dataset.measure) ask({do: "measure", ms: Number(b.dataset.measure)});
	});
	document.addEventListener("change", e => {
		const d = e.target.closest("[data-device]");
		if (d && e.target.value !== "") ask({do: "move", key: d.dataset.device, to: e.target.value});
	});
	by("stand").onchange = () => {
		const list = by("stands"), all = [...list.children];
		if (!list.dataset.kept) { list.dataset.kept = "yes"; all.forEach((s, i) => { s.dataset.order = i; }); }
		all.sort((a, b) => a.dataset.order - b.dataset.order);
		const here = all.find(s => s.dataset.stand === by("stand").value);
		list.replaceChildren(...(here ? [here, ...all.filter(s => s !== here)] : all));
		for (const s of all) s.classList.toggle("here", s === here);
	};
	for (const b of document.querySelectorAll(".works [data-keep] select")) b.disabled = true;
	ask({do: "open", words: root.dataset.words});
})();
