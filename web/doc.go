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
// Incomplete: records are read once; a change of the folder is seen after a new start.
// Nothing is written to the logbook from here. The pages hold no script yet, and nothing is
// kept on a tablet.
package web
