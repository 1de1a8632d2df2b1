// The service worker: asks the server first, and where none is reached lets the program
// that the browser took over answer as the server would. Before this stand the sum and the
// list of what is taken over, and the sum of what the program was built from.
"use strict";
importScripts("/tablet/wasm_exec.js");

const held = "held " + version, lately = "lately"; // lately: what changes while the program does not
const patience = 4000; // ms that a page waits for the server
const fresh = ["/tablet/logbook.json", "/tablet/choices.json", "/tablet/searched.json"];

// what was chosen with no signal, until a server has it; kept when this worker is replaced
const unsentAt = "/tablet/unsent.json";
const noted = async at => {
	const r = await (await caches.open(lately)).match(at);
	return r ? r.json() : {};
};
const put = async (at, what) => (await caches.open(lately)).put(at, new Response(JSON.stringify(what), {headers: {"Content-Type": "application/json"}}));
const sendChoices = async () => {
	const unsent = await noted(unsentAt);
	if (Object.keys(unsent).length === 0) return;
	const r = await fetch("/tablet/choices.json", {method: "POST", body: new URLSearchParams(unsent)});
	// what the server does not take it will not take later
	if (r.ok || r.status === 400) await (await caches.open(lately)).delete(unsentAt);
};

const refresh = async () => {
	await sendChoices();
	const c = await caches.open(lately);
	await Promise.all(fresh.map(async u => {
		const r = await fetch(u, {cache: "no-store"});
		if (r.ok) await c.put(u, r);
	}));
};

self.addEventListener("install", e => e.waitUntil((async () => {
	const c = await caches.open(held);
	await c.addAll(assets.map(u => new Request(u, {cache: "no-cache"})));
	await refresh();
	await self.skipWaiting();
})()));

self.addEventListener("activate", e => e.waitUntil((async () => {
	for (const k of await caches.keys()) if (k.startsWith("held ") && k !== held) await caches.delete(k);
	await self.clients.claim();
})()));

// the program, started once for as long as the browser keeps this worker
let program = null;
const start = () => program ??= (async () => {
	const c = await caches.open(held), l = await caches.open(lately);
	const go = new Go();
	const began = new Promise(done => { self.headstockStarted = done; });
	const engine = await c.match("/tablet/engine.wasm");
	const {instance} = await WebAssembly.instantiate(await engine.arrayBuffer(), go.importObject);
	go.run(instance).finally(() => { program = null; });
	await began;
	const records = new Uint8Array(await (await c.match("/tablet/railway.zip")).arrayBuffer());
	const bytes = async u => { const r = await l.match(u); return new Uint8Array(r ? await r.arrayBuffer() : 0); };
	const said = JSON.parse(self.headstock.open(records, await bytes("/tablet/logbook.json"), await bytes("/tablet/searched.json")));
	if (said.error) throw new Error(said.error);
	return self.headstock;
})().catch(e => { program = null; throw e; });

const byItself = async (request, body) => {
	const h = await start(), chosen = await noted("/tablet/choices.json");
	const head = [...request.headers].filter(([n]) => n !== "cookie");
	head.push(["Cookie", Object.entries(chosen).map(([n, v]) => n + "=" + v).join("; ")]);
	return new Promise(done => h.answer(request.method, request.url, head, body, async (status, headers, text, kept) => {
		if (Object.keys(kept).length) {
			await put("/tablet/choices.json", {...chosen, ...kept});
			await put(unsentAt, {...await noted(unsentAt), ...kept});
		}
		done(new Response([204, 303, 304].includes(status) ? null : text, {status, headers}));
	}));
};

let refreshed = 0;
const answer = async e => {
	const request = e.request, u = new URL(request.url), path = u.pathname + u.search;
	if (assets.includes(path) || assets.includes(u.pathname)) {
		const r = await (await caches.open(held)).match(assets.includes(path) ? path : u.pathname);
		if (r) return r;
	}
	const posts = request.method === "POST";
	const body = posts ? new Uint8Array(await request.clone().arrayBuffer()) : new Uint8Array(0);
	try {
		const late = new Promise((_, no) => setTimeout(() => no(new Error("late")), patience));
		// a page comes as was chosen, so the server hears of that first
		const asked = request.mode === "navigate" ? sendChoices().then(() => fetch(request)) : fetch(request);
		const r = await Promise.race([asked, late]);
		if (posts || Date.now() - refreshed > 60000) { // what was chosen, and what the logbook holds by now
			refreshed = Date.now();
			e.waitUntil(refresh().catch(() => {}));
		}
		return r;
	} catch (lost) {
		if (u.pathname.startsWith("/tablet/")) {
			const r = await (await caches.open(lately)).match(u.pathname);
			if (r) return r;
			throw lost;
		}
		if (posts && new URL(request.referrer || "about:blank").origin !== location.origin) throw lost;
		try {
			return await byItself(request, body);
		} catch (fault) {
			return new Response("This tablet cannot answer by itself: " + fault.message, {status: 500, headers: {"Content-Type": "text/plain; charset=utf-8"}});
		}
	}
};

// a page asks which build this tablet would answer by
self.addEventListener("message", e => { if (e.data === "build") e.source.postMessage({build}); });

self.addEventListener("fetch", e => {
	if (new URL(e.request.url).origin === location.origin && ["GET", "POST"].includes(e.request.method)) e.respondWith(answer(e));
});
