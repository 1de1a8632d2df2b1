// Package web answers on pages, for a browser on the same machine or, behind TLS, near by:
// what the command line answers as a document is a page, composed from the same documents,
// and the same values are JSON under /api.
//
// Every page is made on the server and works without script, as links and forms. A page
// whose runs take longer than a glance is answered at once with what needs no run; the runs
// go on, and the page asks again. Answers are kept by their question; a question that is
// asked again is not run again.
//
// The package opens no file and no socket, reads no clock and knows no SQL: the railway's
// folder is an fs.FS, the logbook an interface, the clock a function, and the server belongs
// to the door that starts it. So the same handler can answer inside a browser.
//
// A page may carry a script of ours that adds to what works without it: the sheet of the
// brake test is judged while it is typed, and what was typed is kept by the browser. Only a
// brake-test sheet is written to the logbook, after it has been shown.
//
// Incomplete: records are read once; a change of the folder is seen after a new start.
package web
