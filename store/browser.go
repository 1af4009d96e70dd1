//go:build js

package store

// The journal in the browser's own database (IndexedDB).

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"sync"
	"syscall/js"
	"time"
)

// Browser is the journal of a browser.
type Browser struct {
	db js.Value
	mu sync.Mutex // one change at a time
}

const (
	actsTable  = "acts"
	wordsTable = "words"
)

// OpenBrowser opens the journal of this browser and makes it if it is not
// there.
func OpenBrowser() (*Browser, error) {
	request := js.Global().Get("indexedDB").Call("open", "chargewright", 1)
	first := js.FuncOf(func(js.Value, []js.Value) any {
		db := request.Get("result")
		db.Call("createObjectStore", actsTable, map[string]any{"keyPath": "id"}).Call("createIndex", "job", "job")
		db.Call("createObjectStore", wordsTable)
		return nil
	})
	defer first.Release()
	request.Set("onupgradeneeded", first)
	db, err := await(request, "onsuccess", "onerror")
	if err != nil {
		return nil, fmt.Errorf("open the browser's journal: %w", err)
	}
	return &Browser{db: db}, nil
}

// await waits until one of two things has happened to a request, and returns
// its result.
func await(request js.Value, good, bad string) (js.Value, error) {
	done := make(chan error, 1)
	ok := js.FuncOf(func(js.Value, []js.Value) any { done <- nil; return nil })
	no := js.FuncOf(func(js.Value, []js.Value) any {
		done <- errors.New(request.Get("error").Call("toString").String())
		return nil
	})
	defer ok.Release()
	defer no.Release()
	request.Set(good, ok)
	request.Set(bad, no)
	if err := <-done; err != nil {
		return js.Undefined(), err
	}
	return request.Get("result"), nil
}

// table opens one table in a transaction of its own.
func (b *Browser) table(name, mode string) (transaction, table js.Value) {
	transaction = b.db.Call("transaction", name, mode)
	return transaction, transaction.Call("objectStore", name)
}

// row is an act as the browser keeps it.
type row struct {
	act     Act
	waiting bool
	photo   js.Value // its content, apart from the rest; undefined where there is none
}

func (b *Browser) rows(ctx context.Context, job string) ([]row, error) {
	_, table := b.table(actsTable, "readonly")
	var request js.Value
	if job == "" {
		request = table.Call("getAll")
	} else {
		request = table.Call("index", "job").Call("getAll", job)
	}
	found, err := await(request, "onsuccess", "onerror")
	if err != nil {
		return nil, fmt.Errorf("read the browser's journal: %w", err)
	}
	rows := make([]row, found.Length())
	for i := range rows {
		v := found.Index(i)
		if err := json.Unmarshal([]byte(v.Get("act").String()), &rows[i].act); err != nil {
			return nil, fmt.Errorf("read the browser's journal: %w", err)
		}
		rows[i].act.Place = int64(v.Get("place").Float())
		rows[i].waiting = v.Get("waiting").Bool()
		rows[i].photo = v.Get("photo")
	}
	slices.SortFunc(rows, func(x, y row) int { return cmp.Compare(x.act.Place, y.act.Place) })
	return rows, nil
}

// Jobs returns the jobs, the one added to last first.
func (b *Browser) Jobs(ctx context.Context) ([]Job, error) {
	acts, err := b.acts(ctx, "")
	return jobsOf(acts), err
}

func (b *Browser) acts(ctx context.Context, job string) ([]Act, error) {
	rows, err := b.rows(ctx, job)
	acts := make([]Act, len(rows))
	for i, r := range rows {
		acts[i] = r.act
	}
	return acts, err
}

// Acts returns the acts of a job after a place.
func (b *Browser) Acts(ctx context.Context, job string, after int64) ([]Act, error) {
	acts, err := b.acts(ctx, job)
	return slices.DeleteFunc(acts, func(a Act) bool { return a.Place <= after }), err
}

// Keep adds acts made here. Until they are sent they stand after all that the
// server is known to have, in the order they were made.
func (b *Browser) Keep(ctx context.Context, acts ...Act) (int, error) {
	if err := Check(acts); err != nil {
		return 0, err
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	there, err := b.acts(ctx, "")
	if err != nil {
		return 0, err
	}
	known := map[string]bool{}
	place := time.Now().UnixMicro()
	for _, a := range there {
		known[a.ID] = true
		place = max(place, a.Place+1)
	}
	var fresh []Act
	for _, a := range acts {
		if !known[a.ID] {
			known[a.ID] = true
			a.Place = place + int64(len(fresh))
			fresh = append(fresh, a)
		}
	}
	return len(fresh), b.put(fresh, true)
}

// Adopt keeps acts as the server has them.
func (b *Browser) Adopt(ctx context.Context, acts ...Act) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	rows, err := b.rows(ctx, "")
	if err != nil {
		return err
	}
	photos := map[string]js.Value{}
	for _, r := range rows {
		photos[r.act.ID] = r.photo
	}
	return b.putRows(acts, false, photos)
}

func (b *Browser) put(acts []Act, waiting bool) error {
	photos := map[string]js.Value{}
	for _, a := range acts {
		if a.Photo != nil && len(a.Photo.Content) > 0 {
			content := js.Global().Get("Uint8Array").New(len(a.Photo.Content))
			js.CopyBytesToJS(content, a.Photo.Content)
			photos[a.ID] = content
		}
	}
	return b.putRows(acts, waiting, photos)
}

// putRows writes acts in one transaction: all or none.
func (b *Browser) putRows(acts []Act, waiting bool, photos map[string]js.Value) error {
	if len(acts) == 0 {
		return nil
	}
	transaction, table := b.table(actsTable, "readwrite")
	for _, a := range acts {
		text, err := json.Marshal(a.withoutContent())
		if err != nil {
			transaction.Call("abort")
			return err
		}
		v := map[string]any{"id": a.ID, "job": a.Job, "place": float64(a.Place), "waiting": waiting, "act": string(text)}
		if photo, ok := photos[a.ID]; ok {
			v["photo"] = photo
		}
		table.Call("put", v)
	}
	if _, err := await(transaction, "oncomplete", "onabort"); err != nil {
		return fmt.Errorf("add to the browser's journal: %w", err)
	}
	return nil
}

// Waiting returns the acts that the server is not known to have.
func (b *Browser) Waiting(ctx context.Context) ([]Act, error) {
	rows, err := b.rows(ctx, "")
	var out []Act
	for _, r := range rows {
		if r.waiting {
			r.act.Photo = r.withContent()
			out = append(out, r.act)
		}
	}
	return out, err
}

func (r row) withContent() *Photo {
	if r.act.Photo == nil || !r.photo.Truthy() {
		return r.act.Photo
	}
	p := *r.act.Photo
	p.Content = make([]byte, r.photo.Length())
	js.CopyBytesToGo(p.Content, r.photo)
	return &p
}

// Photo returns the photo that an act brought, if it was taken here.
func (b *Browser) Photo(ctx context.Context, act string) (Photo, error) {
	_, table := b.table(actsTable, "readonly")
	v, err := await(table.Call("get", act), "onsuccess", "onerror")
	if err != nil {
		return Photo{}, fmt.Errorf("read a photo: %w", err)
	}
	if !v.Truthy() || !v.Get("photo").Truthy() {
		return Photo{}, ErrNotFound
	}
	r := row{photo: v.Get("photo")}
	if err := json.Unmarshal([]byte(v.Get("act").String()), &r.act); err != nil {
		return Photo{}, fmt.Errorf("read a photo: %w", err)
	}
	return *r.withContent(), nil
}

// Remember keeps a word under a name.
func (b *Browser) Remember(_ context.Context, name, word string) error {
	transaction, table := b.table(wordsTable, "readwrite")
	table.Call("put", word, name)
	_, err := await(transaction, "oncomplete", "onabort")
	return err
}

// Recall returns the word kept under a name, or nothing.
func (b *Browser) Recall(_ context.Context, name string) (string, error) {
	_, table := b.table(wordsTable, "readonly")
	v, err := await(table.Call("get", name), "onsuccess", "onerror")
	if err != nil || !v.Truthy() {
		return "", err
	}
	return v.String(), nil
}

// Close closes the browser's database.
func (b *Browser) Close() error {
	b.db.Call("close")
	return nil
}
