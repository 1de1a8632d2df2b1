// Beside the bench page: runs the air, and says what every gauge and piston shows.
"use strict";
importScripts("/tablet/wasm_exec.js");

const frame = 33; // ms
let pace = 0, last = 0, timer = 0;
const began = new Promise(done => { self.headstockStarted = done; });

const say = text => {
	const x = JSON.parse(text);
	postMessage(x.error ? {error: x.error} : {frame: x});
	return !x.error;
};

const tick = () => {
	const now = performance.now(), gone = Math.min((now - last) / 1000, 0.25);
	last = now;
	if (!say(self.headstock.frame(gone * pace))) go(0);
};

const go = to => {
	pace = to;
	clearInterval(timer);
	last = performance.now();
	if (pace > 0) timer = setInterval(tick, frame);
	postMessage({pace});
};

const open = async words => {
	const go = new Go();
	const engine = await fetch("/tablet/engine.wasm");
	if (!engine.ok) throw new Error("the engine cannot be had");
	const {instance} = await WebAssembly.instantiate(await engine.arrayBuffer(), go.importObject);
	go.run(instance);
	await began;
	const railway = await fetch("/tablet/railway.zip");
	const said = JSON.parse(self.headstock.open(new Uint8Array(await railway.arrayBuffer()), new Uint8Array(0)));
	if (said.error) throw new Error(said.error);
	return say(self.headstock.bench(words, new URLSearchParams(words).get("units") ?? ""));
};

onmessage = async e => {
	const m = e.data;
	try {
		switch (m.do) {
		case "open":
			if (await open(m.words)) postMessage({ready: true});
			break;
		case "pace": go(m.pace); break;
		case "step": say(self.headstock.frame(m.seconds)); break;
		case "move":
			if (!say(self.headstock.move(m.key, m.to))) say(self.headstock.frame(0));
			break;
		case "look": postMessage({looked: JSON.parse(self.headstock.look(m.key))}); break;
		case "done": postMessage({done: JSON.parse(self.headstock.done()), why: m.why}); break;
		case "reveal": postMessage({revealed: JSON.parse(self.headstock.reveal())}); say(self.headstock.frame(0)); break;
		// frames as fast as they go, for as long as asked: for who measures
		case "measure": {
			const from = performance.now();
			let n = 0;
			while (performance.now() - from < m.ms) { self.headstock.frame(frame / 1000); n++; }
			postMessage({measured: n * 1000 / (performance.now() - from)});
		}
		}
	} catch (fault) {
		postMessage({error: fault.message});
	}
};
