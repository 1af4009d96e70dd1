package store

import "context"

// Device is the journal of a device that is out of reach of the server now and
// then. It keeps what was done on it until the server is known to have it.
type Device interface {
	Store
	// Waiting returns the acts that the server is not known to have, whole and
	// in the order they were done.
	Waiting(ctx context.Context) ([]Act, error)
	// Adopt keeps acts as the server has them, in the server's places.
	Adopt(ctx context.Context, acts ...Act) error
	// HeldPhotos returns the photos whose content is on the device, by act.
	HeldPhotos(ctx context.Context) (map[string]Held, error)
	// HoldPhoto keeps the content of a photo that another device brought.
	HoldPhoto(ctx context.Context, act string, content []byte) error
	// DropPhotos makes room: the contents go, what the acts say stays.
	DropPhotos(ctx context.Context, acts ...string) error
	// Forget clears the device: acts, what waits among them, photos and words.
	Forget(ctx context.Context) error
	// Remember keeps a word under a name; Recall returns it.
	Remember(ctx context.Context, name, word string) error
	Recall(ctx context.Context, name string) (string, error)
}

// Held is the content of a photo on a device.
type Held struct {
	Bytes   int
	Waiting bool // the server is not known to have it
}
