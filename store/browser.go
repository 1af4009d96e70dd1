//go:build js

package store

// The journal in the browser's own database (IndexedDB).

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
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

// Contents of photos lie apart from the acts that brought them, so that a list
// of acts loads none. Version 1 kept both in one row.
const (
	actsTable   = "acts"
	wordsTable  = "words"
	photosTable = "photos"
	version     = 2
)

// OpenBrowser opens the journal of this browser and makes it if it is not
// there.
func OpenBrowser() (*Browser, error) {
	request, err := asked(func() js.Value { return js.Global().Get("indexedDB").Call("open", "chargewright", version) })
	if err != nil {
		return nil, fmt.Errorf("open the browser's journal: %w", err)
	}
	var apart js.Func
	upgrade := js.FuncOf(func(_ js.Value, args []js.Value) any {
		db, from := request.Get("result"), args[0].Get("oldVersion").Int()
		if from < 1 {
			db.Call("createObjectStore", actsTable, map[string]any{"keyPath": "id"}).Call("createIndex", "job", "job")
			db.Call("createObjectStore", wordsTable)
		}
		photos := db.Call("createObjectStore", photosTable, map[string]any{"keyPath": "act"})
		photos.Call("createIndex", "bytes", "bytes")
		if from == 1 {
			rows := request.Get("transaction").Call("objectStore", actsTable).Call("openCursor")
			apart = js.FuncOf(func(js.Value, []js.Value) any {
				at := rows.Get("result")
				if !at.Truthy() {
					return nil
				}
				v := at.Get("value")
				if photo := v.Get("photo"); photo.Truthy() {
					photos.Call("put", photoRow(v.Get("id").String(), photo))
				}
				v.Delete("photo")
				at.Call("update", v)
				at.Call("continue")
				return nil
			})
			rows.Set("onsuccess", apart)
		}
		return nil
	})
	defer upgrade.Release()
	defer func() {
		if apart.Truthy() {
			apart.Release()
		}
	}()
	request.Set("onupgradeneeded", upgrade)
	db, err := await(request, "onsuccess", "onerror")
	if err != nil {
		return nil, fmt.Errorf("open the browser's journal: %w", err)
	}
	// The browser closes it when a person clears what is kept here: this program
	// stops then, and opens it anew when it is started again.
	db.Set("onclose", js.FuncOf(func(js.Value, []js.Value) any { os.Exit(1); return nil }))
	return &Browser{db: db}, nil
}

// await waits until one of two things has happened to a request, and returns
// its result.
func await(request js.Value, good, bad string) (js.Value, error) {
	done := make(chan error, 1)
	ok := js.FuncOf(func(js.Value, []js.Value) any { done <- nil; return nil })
	no := js.FuncOf(func(js.Value, []js.Value) any {
		done <- fault(request.Get("error"))
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

// asked returns what a call of the browser returns; a browser set to keep
// nothing throws instead.
func asked(call func() js.Value) (v js.Value, err error) {
	defer func() {
		switch thrown := recover().(type) {
		case nil:
		case js.Error:
			err = fault(thrown.Value)
		default:
			err = fmt.Errorf("%v", thrown)
		}
	}()
	return call(), nil
}

// fault is what went wrong, as an error of ours where it is one.
func fault(why js.Value) error {
	switch {
	case !why.Truthy():
		return errors.New("it was broken off")
	case why.Get("name").String() == "QuotaExceededError":
		return ErrNoRoom
	}
	return errors.New(why.Call("toString").String())
}

// table opens one table in a transaction of its own.
func (b *Browser) table(name, mode string) (transaction, table js.Value) {
	transaction = b.db.Call("transaction", name, mode)
	return transaction, transaction.Call("objectStore", name)
}

// photoRow is the content of a photo as the browser keeps it.
func photoRow(act string, content js.Value) map[string]any {
	return map[string]any{"act": act, "bytes": content.Length(), "content": content}
}

// row is an act as the browser keeps it.
type row struct {
	act     Act
	waiting bool
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
func (b *Browser) Adopt(_ context.Context, acts ...Act) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.put(acts, false)
}

// put writes acts and the photos they bring in one transaction: all or none.
func (b *Browser) put(acts []Act, waiting bool) error {
	if len(acts) == 0 {
		return nil
	}
	transaction := b.db.Call("transaction", []any{actsTable, photosTable}, "readwrite")
	table, photos := transaction.Call("objectStore", actsTable), transaction.Call("objectStore", photosTable)
	for _, a := range acts {
		text, err := json.Marshal(a.withoutContent())
		if err != nil {
			transaction.Call("abort")
			return err
		}
		table.Call("put", map[string]any{"id": a.ID, "job": a.Job, "place": float64(a.Place), "waiting": waiting, "act": string(text)})
		if a.Photo != nil && len(a.Photo.Content) > 0 {
			photos.Call("put", photoRow(a.ID, toBrowser(a.Photo.Content)))
		}
	}
	if _, err := await(transaction, "oncomplete", "onabort"); err != nil {
		return fmt.Errorf("add to the browser's journal: %w", err)
	}
	return nil
}

func toBrowser(content []byte) js.Value {
	out := js.Global().Get("Uint8Array").New(len(content))
	js.CopyBytesToJS(out, content)
	return out
}

// Waiting returns the acts that the server is not known to have.
func (b *Browser) Waiting(ctx context.Context) ([]Act, error) {
	rows, err := b.rows(ctx, "")
	var out []Act
	for _, r := range rows {
		if !r.waiting {
			continue
		}
		if r.act.Photo != nil {
			if r.act.Photo.Content, err = b.content(r.act.ID); err != nil {
				return nil, err
			}
		}
		out = append(out, r.act)
	}
	return out, err
}

// content returns the content of the photo that an act brought, nil where it
// is not on the device.
func (b *Browser) content(act string) ([]byte, error) {
	_, table := b.table(photosTable, "readonly")
	v, err := await(table.Call("get", act), "onsuccess", "onerror")
	if err != nil {
		return nil, fmt.Errorf("read a photo: %w", err)
	}
	if !v.Truthy() {
		return nil, nil
	}
	content := make([]byte, v.Get("content").Length())
	js.CopyBytesToGo(content, v.Get("content"))
	return content, nil
}

// Photo returns the photo that an act brought, if its content is on the device.
func (b *Browser) Photo(_ context.Context, act string) (Photo, error) {
	content, err := b.content(act)
	if err != nil || content == nil {
		return Photo{}, cmp.Or(err, ErrNotFound)
	}
	_, table := b.table(actsTable, "readonly")
	v, err := await(table.Call("get", act), "onsuccess", "onerror")
	if err != nil || !v.Truthy() {
		return Photo{}, cmp.Or(err, ErrNotFound)
	}
	var a Act
	if err := json.Unmarshal([]byte(v.Get("act").String()), &a); err != nil || a.Photo == nil {
		return Photo{}, cmp.Or(err, ErrNotFound)
	}
	a.Photo.Content = content
	return *a.Photo, nil
}

// HeldPhotos returns the photos whose content is on the device, by act. It
// reads their keys alone.
func (b *Browser) HeldPhotos(ctx context.Context) (map[string]Held, error) {
	rows, err := b.rows(ctx, "")
	if err != nil {
		return nil, err
	}
	waiting := map[string]bool{}
	for _, r := range rows {
		waiting[r.act.ID] = r.waiting
	}
	_, table := b.table(photosTable, "readonly")
	keys := table.Call("index", "bytes").Call("openKeyCursor")
	held := map[string]Held{}
	for {
		at, err := await(keys, "onsuccess", "onerror")
		if err != nil {
			return nil, fmt.Errorf("list the photos on the device: %w", err)
		}
		if !at.Truthy() {
			return held, nil
		}
		act := at.Get("primaryKey").String()
		held[act] = Held{at.Get("key").Int(), waiting[act]}
		at.Call("continue")
	}
}

// HoldPhoto keeps the content of a photo that another device brought.
func (b *Browser) HoldPhoto(_ context.Context, act string, content []byte) error {
	transaction, table := b.table(photosTable, "readwrite")
	table.Call("put", photoRow(act, toBrowser(content)))
	if _, err := await(transaction, "oncomplete", "onabort"); err != nil {
		return fmt.Errorf("keep a photo: %w", err)
	}
	return nil
}

// DropPhotos makes room: the contents go, what the acts say stays.
func (b *Browser) DropPhotos(_ context.Context, acts ...string) error {
	transaction, table := b.table(photosTable, "readwrite")
	for _, a := range acts {
		table.Call("delete", a)
	}
	if _, err := await(transaction, "oncomplete", "onabort"); err != nil {
		return fmt.Errorf("make room for photos: %w", err)
	}
	return nil
}

// Forget clears the browser's journal.
func (b *Browser) Forget(context.Context) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	all := []any{actsTable, photosTable, wordsTable}
	transaction := b.db.Call("transaction", all, "readwrite")
	for _, name := range all {
		transaction.Call("objectStore", name).Call("clear")
	}
	if _, err := await(transaction, "oncomplete", "onabort"); err != nil {
		return fmt.Errorf("clear the device: %w", err)
	}
	return nil
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
