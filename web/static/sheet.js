// What is typed into a sheet is kept on this device until it is cleared, and judged while it
// is typed, by the same judge as when the form is sent. Without this file the form works.
"use strict";
(() => {
	const form = document.querySelector("form.sheet");
	if (!form) return;
	const address = new URL(form.action);
	address.searchParams.delete("all");
	const words = new URLSearchParams(address.search);
	for (const n of ["brief", "units", "date"]) words.delete(n);
	words.sort();
	const name = "sheet " + address.pathname + "?" + words;
	const fields = [...form.querySelectorAll("input[name], select[name]")].filter(f => /^(read|not):|^who$/.test(f.name));
	const notice = document.getElementById("kept");

	const say = text => { notice.hidden = text === ""; notice.querySelector("span").textContent = text; };

	// kept on this device
	let kept = {};
	try { kept = JSON.parse(localStorage.getItem(name))?.values ?? {}; } catch { kept = {}; }
	const keep = () => {
		for (const f of fields) {
			if (f.value) kept[f.name] = f.value;
			else delete kept[f.name];
		}
		try {
			if (Object.keys(kept).length) localStorage.setItem(name, JSON.stringify({title: document.querySelector("h1").textContent, address: location.pathname + location.search, at: new Date().toISOString(), values: kept}));
			else localStorage.removeItem(name);
		} catch { say("This device keeps nothing: send the sheet before you leave the page."); }
	};
	let restored = 0, usual = "";
	for (const f of fields) {
		if (!f.value && kept[f.name]) {
			f.value = kept[f.name];
			if (f.value) restored++;
		}
	}
	if (restored) usual = (restored === 1 ? "One entry typed earlier on this device is here again." : restored + " entries typed earlier on this device are here again.");
	say(usual);
	notice.querySelector("button").addEventListener("click", () => {
		for (const f of fields) f.value = "";
		kept = {};
		localStorage.removeItem(name);
		for (const s of form.querySelectorAll(".status")) s.textContent = "";
		for (const r of form.querySelectorAll(".row")) r.classList.remove("good", "bad", "warn", "unknown");
		usual = "";
		say("");
		fields[0]?.focus();
	});

	// judged while typed
	const weight = ["", ...form.dataset.statuses.split("|")];
	const signs = [["good", "ok"], ["unknown", "?"], ["warn", "!"], ["bad", "✗"]];
	const readings = () => {
		const out = [];
		for (const f of fields) {
			const m = /^read:(.*)\/\d+-\d+\/(.*)$/.exec(f.name);
			if (!m || !f.value.trim()) continue;
			const row = f.closest(".row");
			const not = form.elements["not:" + f.name.slice(5)]?.value.split(/[\s,;]+/) ?? [];
			const other = f.tagName === "SELECT" ? [...f.options].map(o => o.value).find(v => v && v !== f.value) : "";
			for (const unit of row.dataset.units.split("|")) {
				let value = f.value.trim();
				if (other && not.includes(unit.split(" ").pop())) value = other;
				else if (!other && !/[a-z]/i.test(value)) value = value.replace(",", ".") + " " + form.dataset.unit;
				out.push({row, text: [m[1], unit, m[2], value].join("; ")});
			}
		}
		return out;
	};
	let asked = 0, waiting = 0;
	const judge = async () => {
		const mine = ++asked, all = readings();
		for (const r of form.querySelectorAll(".row[data-units]")) {
			r.classList.remove("good", "bad", "warn", "unknown");
			const s = r.querySelector(".status");
			if (s) s.textContent = "";
		}
		if (!all.length) return;
		const body = new URLSearchParams(address.search);
		for (const r of all) body.append("reading", r.text);
		let answer;
		try {
			const response = await fetch("/api/judge", {method: "POST", body});
			answer = await response.json();
			if (mine !== asked) return;
			if (!response.ok) return say("Not judged: " + answer.error);
		} catch {
			if (mine === asked) say("Not judged: the server does not answer. What is typed stays on this device.");
			return;
		}
		say(usual);
		const worst = new Map();
		for (const [i, j] of (answer.values?.readings ?? []).entries()) {
			const at = all[i]?.row, w = weight.indexOf(j.status);
			if (at && w > (worst.get(at) ?? 0)) worst.set(at, w);
		}
		for (const [row, w] of worst) {
			row.classList.add(signs[w - 1][0]);
			row.querySelector(".status").textContent = signs[w - 1][1] + " " + weight[w];
		}
	};
	form.addEventListener("input", () => {
		keep();
		clearTimeout(waiting);
		waiting = setTimeout(judge, 350);
	});
	// a form that is sent to nobody is lost with its page: first see that somebody is there
	let sure = false;
	form.addEventListener("submit", async event => {
		keep();
		if (sure) return;
		event.preventDefault();
		try {
			await fetch("/healthz", {cache: "no-store"});
		} catch {
			return say("Not sent: the server does not answer. What is typed stays on this device.");
		}
		sure = true;
		form.requestSubmit(event.submitter);
	});
	if (restored) judge();
})();
