//go:build js && wasm

// Worker is the pages inside the browser: the same handlers as on the server,
// before the browser's own journal. It is called by worker.js and holds
// nothing between two calls.
package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"syscall/js"
	"time"

	"chargewright/store"
	"chargewright/web"
)

func main() {
	journal, err := store.OpenBrowser()
	if err != nil {
		js.Global().Call("programFailed", err.Error())
		return
	}
	device := web.OnDevice(journal, js.Global().Get("location").Get("origin").String(), slog.New(slog.NewTextHandler(os.Stderr, nil)))
	handler := device.Server.Handler()

	export("answerHere", func(args []js.Value) any { return answer(handler, args) })
	export("sendWaiting", func(args []js.Value) any {
		ctx, cancel := context.WithTimeout(context.Background(), mostSending)
		defer cancel()
		var follow []string
		for _, a := range args {
			follow = append(follow, a.String())
		}
		waiting, err := device.Sender.Send(ctx, follow...)
		var answered *web.Answered
		switch {
		case err == nil:
			return map[string]any{"reached": true, "waiting": waiting}
		case errors.As(err, &answered):
			return map[string]any{"reached": true, "waiting": device.Server.Away(), "status": answered.Status}
		}
		return map[string]any{"reached": false, "waiting": device.Server.Away()}
	})
	device.Sender.Sparing = func() bool {
		return js.Global().Get("navigator").Get("connection").Truthy() && js.Global().Get("navigator").Get("connection").Get("saveData").Truthy()
	}
	export("fetchPhotos", func([]js.Value) any { return device.Sender.FetchPhotos(context.Background()) == nil })
	export("countWaiting", func([]js.Value) any { return device.Server.Away() })
	js.Global().Call("programReady")
	select {}
}

// mostSending is how long sending may take: a photo on a weak signal takes
// minutes, and a browser stops a worker after five.
const mostSending = 4 * time.Minute

// export makes a function of ours one that JavaScript may wait for. It runs
// aside, since the browser's database answers only while nobody waits for it.
func export(name string, do func([]js.Value) any) {
	js.Global().Set(name, js.FuncOf(func(_ js.Value, args []js.Value) any {
		var work js.Func
		work = js.FuncOf(func(_ js.Value, settle []js.Value) any {
			go func() {
				defer work.Release()
				defer func() {
					if broken := recover(); broken != nil {
						settle[1].Invoke(js.Global().Get("Error").New(fmt.Sprint(broken)))
					}
				}()
				settle[0].Invoke(do(args))
			}()
			return nil
		})
		return js.Global().Get("Promise").New(work)
	}))
}

// answer serves one request: method, address, content type, body.
func answer(h http.Handler, args []js.Value) any {
	var body io.Reader
	if !args[3].IsNull() {
		text := make([]byte, args[3].Length())
		js.CopyBytesToGo(text, args[3])
		body = bytes.NewReader(text)
	}
	r := httptest.NewRequest(args[0].String(), args[1].String(), body)
	r.Header.Set("Content-Type", args[2].String())
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	content := js.Global().Get("Uint8Array").New(w.Body.Len())
	js.CopyBytesToJS(content, w.Body.Bytes())
	headers := map[string]any{}
	for name := range w.Header() {
		headers[name] = w.Header().Get(name)
	}
	return map[string]any{"status": w.Code, "headers": headers, "body": content, "location": w.Header().Get("Location")}
}
