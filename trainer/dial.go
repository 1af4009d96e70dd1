//go:build !js

package trainer

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/coder/websocket"
)

// dial asks the central system for a link.
func (p *Point) dial(ctx context.Context) (*websocket.Conn, *http.Response, error) {
	header := http.Header{}
	if p.o.Password != "" {
		r := http.Request{Header: header}
		r.SetBasicAuth(p.o.Identity, p.o.Password)
	}
	client := &http.Client{Transport: &http.Transport{TLSClientConfig: p.o.TLS}}
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	return websocket.Dial(ctx, strings.TrimSuffix(p.o.Central, "/")+"/"+url.PathEscape(p.o.Identity),
		&websocket.DialOptions{HTTPClient: client, HTTPHeader: header, Subprotocols: []string{p.o.Version.Subprotocol()}})
}
