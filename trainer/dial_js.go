package trainer

import (
	"context"
	"errors"
	"net/http"

	"github.com/coder/websocket"
)

// dial refuses: a browser has no link of this kind.
func (p *Point) dial(context.Context) (*websocket.Conn, *http.Response, error) {
	return nil, nil, errors.New("a browser cannot pretend a charge point")
}
