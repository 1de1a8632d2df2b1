package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/url"

	"headstock/card"
)

// problem is what is wrong with a question, as JSON.
type problem struct {
	Caution string `json:"caution"`
	Error   string `json:"error"`
}

// reply is an answer as JSON: its documents, and the values that they are worded from.
type reply struct {
	Caution   string           `json:"caution"`
	Documents []*card.Document `json:"documents"`
	Values    any              `json:"values,omitempty"`
}

func writeJSON(w http.ResponseWriter, code int, v any) {
	b, err := json.Marshal(v)
	if err != nil {
		code, b = http.StatusInternalServerError, []byte(`{"caution":"","error":"this answer cannot be written as JSON"}`)
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(code)
	_, _ = w.Write(append(b, '\n'))
}

// json answers a question as JSON. It waits for the runs longer than a page does.
func (s *Site) json(x question) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		ctx, stop := context.WithTimeout(r.Context(), jsonPatience)
		defer stop()
		values := r.URL.Query()
		if r.Method == http.MethodPost {
			if err := r.ParseForm(); err != nil {
				writeJSON(w, http.StatusBadRequest, problem{card.Caution, "that form cannot be read"})
				return
			}
			for k, v := range r.PostForm {
				values[k] = append(append([]string(nil), values[k]...), v...)
			}
		}
		q, err := s.ask(r, url.Values(values), ctx)
		for _, f := range x.fields {
			if err == nil && f.need && !s.complete(x, q) && q.get(f.name) == "" {
				err = bad("%s is needed: %s", f.name, f.label)
			}
		}
		var a *answer
		if err == nil {
			a, err = x.answer(q)
		}
		if err != nil {
			code, _ := statusOf(err)
			if d := cannotSay(x.title, err); d != nil {
				writeJSON(w, http.StatusOK, reply{card.Caution, []*card.Document{d}, nil})
				return
			}
			if errors.Is(err, errRunning) || errors.Is(err, errBusy) {
				code = http.StatusServiceUnavailable
				w.Header().Set("Retry-After", "5")
			}
			writeJSON(w, code, problem{card.Caution, err.Error()})
			return
		}
		writeJSON(w, http.StatusOK, reply{card.Caution, a.docs, a.values})
	}
}

// openAPI is the description of all this.
func (s *Site) openAPI(w http.ResponseWriter, _ *http.Request) {
	b, err := files.ReadFile("openapi.json")
	if err != nil {
		writeJSON(w, http.StatusInternalServerError, problem{card.Caution, err.Error()})
		return
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	_, _ = w.Write(b)
}
