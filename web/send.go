package web

// Sending what a device kept, once and in order, and fetching what others did.

import (
	"bytes"
	"cmp"
	"context"
	"crypto/ed25519"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"chargewright/photo"
	"chargewright/store"
)

// Sender carries acts between a device's journal and the server's.
type Sender struct {
	Device  store.Device
	Server  string // address, without a slash at the end
	Client  *http.Client
	Room    int         // bytes of photos that a device holds at most, besides those that wait
	Sparing func() bool // says that the connection is to be spared; may be nil
	Now     func() time.Time
}

// Answered says that the server was reached and answered something else than
// what was asked of it.
type Answered struct{ Status int }

func (a *Answered) Error() string {
	return fmt.Sprintf("the server answers %d %s", a.Status, http.StatusText(a.Status))
}

// errRefused says that the server was reached and would not have it.
var errRefused = errors.New("the server refused it")

// Jobs the device follows, and how far, are words it remembers.
const (
	followsWord = "follows"
	whoWord     = "who"
	accountWord = "account" // whose account was signed in here
	keyWord     = "key "    // with whose it is
)

func afterWord(job string) string { return "after " + job }

// Send sends what waits, then fetches what is new in the jobs that the device
// follows. A job named is followed from now on. It returns how many acts still
// wait. A server that answered late or not at all has perhaps kept an act
// already; it is sent again under the same ID and kept once.
func (s *Sender) Send(ctx context.Context, follow ...string) (waiting int, err error) {
	if err := s.asksRevoked(ctx); err != nil {
		return 0, err
	}
	acts, err := s.Device.Waiting(ctx)
	if err != nil {
		return 0, err
	}
	for _, group := range groups(acts) {
		if err := s.push(ctx, group); err != nil {
			return len(acts), err
		}
	}
	for _, a := range acts {
		follow = append(follow, a.Job)
	}
	jobs, err := s.followed(ctx, follow)
	if err != nil {
		return len(acts), err
	}
	for _, job := range jobs {
		err := s.pull(ctx, job)
		var answered *Answered
		if errors.As(err, &answered) && answered.Status == http.StatusNotFound {
			continue // a server that began anew: what is here stays here
		}
		if err != nil {
			return len(acts), err
		}
	}
	if err := s.meet(ctx); err != nil {
		return 0, err
	}
	left, err := s.Device.Waiting(ctx)
	return len(left), err
}

// meet learns who is at work here, and makes the key by which this device signs
// for them from then on known to the server.
func (s *Sender) meet(ctx context.Context) error {
	type answer struct {
		Who                   string
		Account, Signs, Known bool
		AwayFor               int64
	}
	var me answer
	if err := s.get(ctx, "/api/v1/me", &me); err != nil || me.Who == "" {
		return err
	}
	if err := s.Device.Remember(ctx, whoWord, me.Who); err != nil || !me.Account {
		return err
	}
	for word, is := range map[string]string{accountWord: me.Who, awayWord: strconv.FormatInt(me.AwayFor, 10),
		seenWord: s.Now().UTC().Format(time.RFC3339), latestWord: s.Now().UTC().Format(time.RFC3339)} {
		if err := s.Device.Remember(ctx, word, is); err != nil {
			return err
		}
	}
	public := ""
	if me.Signs {
		key, err := madeKey(ctx, s.Device, me.Who)
		if err != nil {
			return err
		}
		public = hex.EncodeToString(key.Public().(ed25519.PublicKey))
		if err := s.signs(ctx, public); err != nil {
			return err
		}
	}
	return s.keeps(ctx, public)
}

// keeps makes known to the server that this device keeps jobs, and which key
// signs on it, so that it can be revoked when it is lost.
func (s *Sender) keeps(ctx context.Context, public string) error {
	id, err := madeDevice(ctx, s)
	if err != nil {
		return err
	}
	body, err := json.Marshal(map[string]string{"device": id, "key": public})
	if err != nil {
		return err
	}
	var is struct{ Revoked bool }
	err = s.call(ctx, "POST", "/api/v1/me/device", body, func(text []byte) error { return json.Unmarshal(text, &is) })
	var answered *Answered
	if err == nil && is.Revoked {
		return errors.Join(s.Device.Forget(ctx), ErrRevoked)
	}
	if errors.As(err, &answered) || errors.Is(err, errRefused) {
		return nil
	}
	return err
}

// signs makes the key by which this device signs known to the server.
func (s *Sender) signs(ctx context.Context, public string) error {
	var me struct{ Known bool }
	if err := s.get(ctx, "/api/v1/me?key="+public, &me); err != nil || me.Known {
		return err
	}
	body, err := json.Marshal(map[string]string{"key": public})
	if err != nil {
		return err
	}
	err = s.call(ctx, "POST", "/api/v1/me/key", body, nil)
	var answered *Answered
	if errors.As(err, &answered) || errors.Is(err, errRefused) {
		return nil // what is entered is said by who sends it
	}
	return err
}

// groups cuts acts into lists small enough to send at once, in order; one with
// a photo goes alone.
func groups(acts []store.Act) [][]store.Act {
	const most = 50
	var out [][]store.Act
	for _, a := range acts {
		if n := len(out); n > 0 && a.Photo == nil && len(out[n-1]) < most && out[n-1][0].Photo == nil {
			out[n-1] = append(out[n-1], a)
			continue
		}
		out = append(out, []store.Act{a})
	}
	return out
}

// push sends a list of acts. If the server refuses it, each goes alone, so
// that one bad act does not hold back the others.
func (s *Sender) push(ctx context.Context, acts []store.Act) error {
	body, err := json.Marshal(map[string]any{"acts": acts})
	if err != nil {
		return err
	}
	err = s.call(ctx, "POST", "/api/v1/acts", body, nil)
	if errors.Is(err, errRefused) {
		if len(acts) == 1 {
			return nil // it stays on the device, and is counted as waiting
		}
		for _, a := range acts {
			if err := s.push(ctx, []store.Act{a}); err != nil {
				return err
			}
		}
		return nil
	}
	return err
}

// followed returns the jobs that the device follows, with more.
func (s *Sender) followed(ctx context.Context, more []string) ([]string, error) {
	text, err := s.Device.Recall(ctx, followsWord)
	if err != nil {
		return nil, err
	}
	jobs := strings.Fields(text)
	seen := map[string]bool{}
	for _, j := range jobs {
		seen[j] = true
	}
	for _, j := range more {
		if !seen[j] {
			seen[j] = true
			jobs = append(jobs, j)
		}
	}
	return jobs, s.Device.Remember(ctx, followsWord, strings.Join(jobs, " "))
}

// pull fetches the acts of a job that the device has not had from the server.
func (s *Sender) pull(ctx context.Context, job string) error {
	after, err := s.Device.Recall(ctx, afterWord(job))
	if err != nil {
		return err
	}
	if after == "" {
		after = "0"
	}
	var in struct{ Acts []store.Act }
	if err := s.get(ctx, "/api/v1/jobs/"+url.PathEscape(job)+"/acts?after="+after, &in); err != nil || len(in.Acts) == 0 {
		return err
	}
	if err := s.Device.Adopt(ctx, in.Acts...); err != nil {
		return err
	}
	return s.Device.Remember(ctx, afterWord(job), strconv.FormatInt(in.Acts[len(in.Acts)-1].Place, 10))
}

// FetchPhotos fetches the pictures that others took, and did not take out
// again, in the jobs the device follows, the newest first, as many as there is room for; the oldest make room
// for newer ones. What waits to be sent stays in any case. A connection that is
// to be spared fetches none.
func (s *Sender) FetchPhotos(ctx context.Context) error {
	if s.Sparing != nil && s.Sparing() {
		return nil
	}
	jobs, err := s.followed(ctx, nil)
	if err != nil {
		return err
	}
	held, err := s.Device.HeldPhotos(ctx)
	if err != nil {
		return err
	}
	var acts []store.Act
	for _, job := range jobs {
		of, err := s.Device.Acts(ctx, job, 0)
		if err != nil {
			return err
		}
		there := store.Record(of).Items(photosList)
		acts = append(acts, slices.DeleteFunc(of, func(a store.Act) bool { return a.Photo == nil || !slices.Contains(there, a.PhotoName()) })...)
	}
	slices.SortStableFunc(acts, func(a, b store.Act) int { return cmp.Compare(b.When, a.When) })
	room := s.Room
	var fetch []store.Act
	stay := map[string]bool{}
	for _, a := range acts {
		h, here := held[a.ID]
		if here && h.Waiting {
			stay[a.ID] = true
			continue
		}
		if room -= max(h.Bytes, a.Photo.Bytes); room < 0 {
			break
		}
		stay[a.ID] = true
		if !here {
			fetch = append(fetch, a)
		}
	}
	var drop []string
	for act, h := range held {
		if !stay[act] && !h.Waiting {
			drop = append(drop, act)
		}
	}
	if err := s.Device.DropPhotos(ctx, drop...); err != nil {
		return err
	}
	for _, a := range fetch {
		content, err := s.picture(ctx, a)
		if err != nil {
			return err
		}
		if err := s.Device.HoldPhoto(ctx, a.ID, content); err != nil {
			return err
		}
	}
	return nil
}

// picture fetches one picture.
func (s *Sender) picture(ctx context.Context, a store.Act) ([]byte, error) {
	var content []byte
	err := s.call(ctx, "GET", "/api/v1/jobs/"+url.PathEscape(a.Job)+"/photos/"+url.PathEscape(a.ID), nil, func(text []byte) error {
		content = text
		if _, err := photo.Read(content); err != nil { // a page of a network that wants a sign-in, and the like
			return fmt.Errorf("fetch a photo: %w", err)
		}
		return nil
	})
	return content, err
}

// How long the server may take to answer over a weak signal: what is written by
// hand, and a picture.
const (
	patience     = 30 * time.Second
	morePatience = 3 * time.Minute
)

func (s *Sender) get(ctx context.Context, path string, into any) error {
	return s.call(ctx, "GET", path, nil, func(text []byte) error { return json.Unmarshal(text, into) })
}

func (s *Sender) call(ctx context.Context, method, path string, body []byte, read func([]byte) error) error {
	most := patience
	if len(body) > mostForm || strings.Contains(path, "/photos/") {
		most = morePatience
	}
	ctx, cancel := context.WithTimeout(ctx, most)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, method, s.Server+path, bytes.NewReader(body))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/json")
	answer, err := s.Client.Do(r)
	if err != nil {
		return fmt.Errorf("reach the server: %w", err)
	}
	defer answer.Body.Close()
	text, err := io.ReadAll(answer.Body)
	switch {
	case err != nil:
		return fmt.Errorf("reach the server: %w", err)
	case answer.StatusCode == http.StatusBadGateway, answer.StatusCode == http.StatusServiceUnavailable, answer.StatusCode == http.StatusGatewayTimeout:
		return fmt.Errorf("reach the server: what stands before it answers %s", answer.Status)
	case answer.StatusCode == http.StatusUnprocessableEntity, answer.StatusCode == http.StatusRequestEntityTooLarge:
		return errRefused
	case answer.StatusCode != http.StatusOK:
		return &Answered{answer.StatusCode}
	case read == nil:
		return nil
	}
	return read(text)
}
