// On every page: keeps what is entered on a sheet in this browser, counts it, and lets the
// browser take over what it needs to answer with no signal. Pages do without it.
"use strict";
(() => {
	const before = "sheet ";
	const read = key => { try { return JSON.parse(localStorage.getItem(key)); } catch { return null; } };
	const sheets = () => Object.keys(localStorage).filter(k => k.startsWith(before)).sort();
	const filled = s => Object.values(s?.values ?? {}).filter(v => v !== "").length;

	// a sheet is the page with the words that say what it is of
	const address = () => {
		const words = new URLSearchParams(location.search);
		for (const n of ["all", "brief", "units", "date"]) words.delete(n);
		words.sort();
		return location.pathname + "?" + words;
	};

	const count = () => {
		const n = sheets().reduce((sum, k) => sum + filled(read(k)), 0);
		const link = document.getElementById("unsent");
		if (link) link.textContent = n ? "This tablet: " + n + " not sent" : "This tablet";
		return n;
	};

	// a place on paper to write in becomes one to enter in, with a tick that it was looked at
	const openPlaces = () => {
		for (const td of document.querySelectorAll("td")) {
			if (!/^_{3,}$/.test(td.textContent.trim())) continue;
			const row = td.closest("tr"), what = row.querySelector("th")?.textContent.trim() || row.cells[0].textContent.trim();
			const where = td.closest("table").querySelector("caption")?.textContent.trim() ?? "";
			const tick = document.createElement("label"), box = document.createElement("input"), words = document.createElement("input");
			tick.className = "tick";
			box.type = "checkbox";
			box.name = "looked at: " + where + ": " + what;
			box.setAttribute("aria-label", "looked at: " + what);
			tick.append(box, " looked at");
			words.name = "found: " + where + ": " + what;
			words.autocomplete = "off";
			words.setAttribute("aria-label", "found: " + what);
			td.replaceChildren(tick, words);
			td.dataset.sheet = "yes";
		}
	};

	// the brake-test sheet is kept by its own script, in the same form
	const fields = () => [...document.querySelectorAll("form.sheet:not([data-statuses]) [name], td[data-sheet] [name]")].filter(f => f.type !== "hidden");
	const keep = () => {
		const values = {};
		for (const f of fields()) {
			const v = f.type === "checkbox" ? (f.checked ? "yes" : "") : f.value.trim();
			if (v !== "") values[f.name] = v;
		}
		const key = before + address();
		const was = read(key);
		// what another form of the same sheet holds stays
		const there = new Set(fields().map(f => f.name));
		for (const [n, v] of Object.entries(was?.values ?? {})) if (!there.has(n)) values[n] = v;
		if (Object.keys(values).length === 0) localStorage.removeItem(key);
		else localStorage.setItem(key, JSON.stringify({title: document.querySelector("h1").textContent, address: location.pathname + location.search, at: new Date().toISOString(), values}));
		count();
		navigator.storage?.persist?.();
	};
	const restore = () => {
		const s = read(before + address());
		if (!s) return;
		for (const f of fields()) {
			const v = s.values[f.name];
			if (v === undefined) continue;
			if (f.type === "checkbox") f.checked = v === "yes";
			else if (f.value === "") f.value = v;
		}
	};

	const save = (name, text) => {
		const a = document.createElement("a");
		a.href = URL.createObjectURL(new Blob([text], {type: "application/json"}));
		a.download = name;
		a.click();
		setTimeout(() => URL.revokeObjectURL(a.href), 60000);
	};

	// the page on what this browser holds
	const list = () => {
		const ul = document.getElementById("sheets");
		if (!ul) return;
		const n = count();
		document.getElementById("counted").textContent = n === 0 ? "Nothing: no entries are kept in this browser." :
			n + (n === 1 ? " entry is" : " entries are") + " kept in this browser and not yet sent to anybody.";
		ul.replaceChildren(...sheets().map(k => {
			const s = read(k), li = document.createElement("li"), a = document.createElement("a"), says = document.createElement("span"), b = document.createElement("button");
			a.href = s.address;
			a.textContent = s.title + " ";
			says.className = "quiet";
			says.textContent = filled(s) + " entries, last at " + s.at.slice(0, 16).replace("T", " ") + " UTC";
			a.append(says);
			b.type = "button";
			b.textContent = "Forget";
			b.setAttribute("aria-label", "Forget what was entered on " + s.title);
			b.onclick = () => { if (b.textContent === "Forget") { b.textContent = "Press again"; return; } localStorage.removeItem(k); list(); };
			li.append(a, b);
			return li;
		}));
		const all = document.getElementById("save-all");
		all.hidden = n === 0;
		all.onclick = () => save("sheets.json", JSON.stringify(sheets().map(read), null, 1));
	};

	const says = text => { const p = document.getElementById("holds"); if (p) p.textContent = text; };
	const takeOver = async () => {
		if (document.getElementById("unsent")?.dataset.built !== "yes") return;
		if (!window.isSecureContext || !navigator.serviceWorker) {
			says("This address is not one at which the browser lets pages answer by themselves: open it over TLS with a certificate that this device trusts.");
			return;
		}
		// the server, the program that it offers and the one that is held are of one build, or the page says so
		const {build, program} = document.getElementById("unsent").dataset, other = document.getElementById("other-build");
		const differ = text => { other.hidden = text === ""; other.textContent = text; };
		const ask = () => navigator.serviceWorker.controller?.postMessage("build");
		navigator.serviceWorker.addEventListener("message", e => {
			if (!program || e.data.build === undefined) return;
			if (build && build !== program) differ("This server and the program that it offers to tablets are of different builds: with no signal a tablet may answer otherwise. Tell whoever runs the server: run make build again and start it anew.");
			else if (e.data.build !== program) differ("This tablet holds a program of another build than this server, and answers by that with no signal. It is taking over the new one now: keep this page open with signal until this line goes. If it stays, open This tablet again with signal. Entries are kept.");
			else differ("");
		});
		navigator.serviceWorker.addEventListener("controllerchange", ask);
		ask();
		const held = () => { document.documentElement.dataset.holds = "yes"; says("This browser holds what it needs and answers with no signal."); };
		if (navigator.serviceWorker.controller) held();
		else says("This browser is taking over what it needs.");
		try {
			await navigator.serviceWorker.register("/worker.js", {updateViaCache: "none"});
			await navigator.serviceWorker.ready;
			held();
		} catch (e) {
			// with no server there is nothing new to take over; what is held goes on
			if (!navigator.serviceWorker.controller) says("This browser could not take over what it needs: " + e.message);
		}
	};

	openPlaces();
	restore();
	count();
	list();
	document.addEventListener("input", e => { if (fields().includes(e.target)) keep(); else count(); });
	document.addEventListener("change", e => { if (fields().includes(e.target)) keep(); });
	takeOver();
})();
