package door

// Passkeys: signing in by what a person's device holds, opened by finger, face
// or PIN (WebAuthn, W3C). A password still serves.

import (
	"cmp"
	"encoding/base64"
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"time"

	"chargewright/store"
	"chargewright/web"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"
)

const (
	mostPasskeys  = 20 // of one person
	ceremonyLasts = 5 * time.Minute
)

// party is whom a passkey is made for and shown to: the address that people
// reach these pages at. There is none where passkeys cannot be.
func (d *Door) party(r *http.Request) (*webauthn.WebAuthn, error) {
	origin := d.Address
	switch {
	case origin != "":
	case d.Proxied:
		return nil, web.Refuse(http.StatusConflict, "Passkeys need to know at which address these pages are reached: start the program with --address.")
	case d.Secure:
		origin = "https://" + r.Host
	default:
		origin = "http://" + r.Host
	}
	at, err := url.Parse(origin)
	if err != nil {
		return nil, web.Refuse(http.StatusBadRequest, "The address %.80q is none.", origin)
	}
	name := at.Hostname()
	if net.ParseIP(name) != nil || at.Scheme == "http" && name != "localhost" {
		return nil, web.Refuse(http.StatusConflict, "A passkey belongs to a name. Open these pages by https at a name, or on this computer as localhost; here "+
			"they are at %s.", origin)
	}
	return webauthn.New(&webauthn.Config{
		RPID: name, RPDisplayName: "Chargewright", RPOrigins: []string{origin},
		AuthenticatorSelection: protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementRequired, UserVerification: protocol.VerificationRequired},
	})
}

// keyholder is a person as the library asks for one.
type keyholder struct {
	person store.Person
	keys   []webauthn.Credential
}

func (k *keyholder) WebAuthnID() []byte                         { return []byte(k.person.Handle) }
func (k *keyholder) WebAuthnName() string                       { return k.person.Name }
func (k *keyholder) WebAuthnDisplayName() string                { return k.person.Name }
func (k *keyholder) WebAuthnCredentials() []webauthn.Credential { return k.keys }

// holder returns the person of whom something is so, with their passkeys.
func (d *Door) holder(r *http.Request, is func(store.Person) bool) (*keyholder, []store.Passkey, error) {
	people, err := d.Register.People(r.Context())
	if err != nil {
		return nil, nil, err
	}
	for _, p := range people {
		if !is(p) {
			continue
		}
		kept, err := d.Register.Passkeys(r.Context(), p.Name)
		if err != nil {
			return nil, nil, err
		}
		k := &keyholder{person: p, keys: make([]webauthn.Credential, len(kept))}
		for i := range kept {
			if err := json.Unmarshal([]byte(kept[i].Credential), &k.keys[i]); err != nil {
				return nil, nil, err
			}
		}
		return k, kept, nil
	}
	return nil, nil, store.ErrNotFound
}

// ceremony is what was asked of a device and is answered within minutes.
type ceremony struct {
	asked webauthn.SessionData
	ends  time.Time
	name  string // of the passkey to be
}

// ceremonies are those under way, each found once.
type ceremonies struct {
	mu  sync.Mutex
	all map[string]ceremony
}

func (c *ceremonies) begin(key string, one ceremony, now time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.all == nil {
		c.all = map[string]ceremony{}
	}
	for k, old := range c.all {
		if now.After(old.ends) || len(c.all) >= mostNames { // who began it begins again
			delete(c.all, k)
		}
	}
	c.all[key] = one
}

func (c *ceremonies) take(key string, now time.Time) (ceremony, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	one, ok := c.all[key]
	delete(c.all, key)
	if !ok || now.After(one.ends) {
		return ceremony{}, web.Refuse(http.StatusConflict, "That took too long, or was answered before. Begin again.")
	}
	return one, nil
}

// ceremonyCookie ties what is asked to the browser it is asked in.
func (d *Door) ceremonyCookie() string { return d.cookie() + "-passkey" }

func (d *Door) ask(w http.ResponseWriter, options any, asked *webauthn.SessionData, name string) error {
	key, now := newToken(), d.Server.Now()
	d.ceremonies.begin(key, ceremony{*asked, now.Add(ceremonyLasts), name}, now)
	d.setCookie(w, d.ceremonyCookie(), key, int(ceremonyLasts.Seconds()))
	return web.Give(w, http.StatusOK, options)
}

func (d *Door) answered(w http.ResponseWriter, r *http.Request) (ceremony, error) {
	key := ""
	if c, err := r.Cookie(d.ceremonyCookie()); err == nil {
		key = c.Value
	}
	d.setCookie(w, d.ceremonyCookie(), "", -1)
	return d.ceremonies.take(key, d.Server.Now())
}

// why is what the library found wrong, for the log and never for the page.
func why(err error) string {
	var e *protocol.Error
	if errors.As(err, &e) {
		return e.Details + ": " + e.DevInfo
	}
	return err.Error()
}

// beginPasskey asks the person's device for a new passkey.
func (d *Door) beginPasskey(w http.ResponseWriter, r *http.Request) error {
	who, name := d.Server.Who(r), strings.Join(strings.Fields(r.PostFormValue("device")), " ")
	party, err := d.party(r)
	if err != nil {
		return err
	}
	if name == "" || len(name) > 80 {
		return web.Refuse(http.StatusUnprocessableEntity, "Say in 1 to 80 letters what you call the device, so that you know it again.")
	}
	if !d.mayTry(r, who) {
		return web.Refuse(http.StatusTooManyRequests, tooManyTries)
	}
	switch knows, err := d.knows(r.Context(), who, r.PostFormValue("password")); {
	case err != nil:
		return err
	case !knows:
		d.failed(r, who, "passkey refused: wrong password")
		return web.Refuse(http.StatusForbidden, "That is not your password.")
	}
	holder, kept, err := d.holder(r, func(p store.Person) bool { return p.Name == who })
	if err != nil {
		return err
	}
	if len(kept) >= mostPasskeys {
		return web.Refuse(http.StatusConflict, "%d passkeys are the most: take one away first.", mostPasskeys)
	}
	options, asked, err := party.BeginRegistration(holder, webauthn.WithExclusions(webauthn.Credentials(holder.keys).CredentialDescriptors()))
	if err != nil {
		return err
	}
	return d.ask(w, options.Response, asked, name)
}

// addPasskey keeps the passkey that the device has made.
func (d *Door) addPasskey(w http.ResponseWriter, r *http.Request) error {
	who := d.Server.Who(r)
	party, err := d.party(r)
	if err != nil {
		return err
	}
	c, err := d.answered(w, r)
	if err != nil {
		return err
	}
	holder, _, err := d.holder(r, func(p store.Person) bool { return p.Name == who })
	if err != nil {
		return err
	}
	made, err := party.FinishRegistration(holder, c.asked, r)
	if err != nil {
		d.Server.Log.Info("a passkey was not taken", "why", why(err))
		d.note(r, who, "passkey refused")
		return web.Refuse(http.StatusUnprocessableEntity, "What the device answers is not the passkey that was asked for. Begin again.")
	}
	text, err := json.Marshal(made)
	if err != nil {
		return err
	}
	key := store.Passkey{ID: base64.RawURLEncoding.EncodeToString(made.ID), Person: who, Name: c.name, Made: d.Server.Now(), Credential: string(text)}
	if err := d.Register.AddPasskey(r.Context(), key); err != nil {
		return err
	}
	d.note(r, who, "passkey added: "+c.name)
	return web.Give(w, http.StatusOK, map[string]string{"next": "/me"})
}

func (d *Door) removePasskey(w http.ResponseWriter, r *http.Request) error {
	who := d.Server.Who(r)
	keys, err := d.Register.Passkeys(r.Context(), who)
	if err != nil {
		return err
	}
	for _, k := range keys {
		if k.ID != r.PostFormValue("passkey") {
			continue
		}
		if err := d.Register.RemovePasskey(r.Context(), who, k.ID); err != nil {
			return err
		}
		d.note(r, who, "passkey taken away: "+k.Name)
	}
	http.Redirect(w, r, "/me", http.StatusSeeOther)
	return nil
}

// beginPasskeySignIn asks the device for whatever passkey it has for us; who it
// belongs to the answer says.
func (d *Door) beginPasskeySignIn(w http.ResponseWriter, r *http.Request) error {
	party, err := d.party(r)
	if err != nil {
		return err
	}
	if !d.mayTry(r, "") {
		return web.Refuse(http.StatusTooManyRequests, tooManyTries)
	}
	options, asked, err := party.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		return err
	}
	return d.ask(w, options.Response, asked, "")
}

func (d *Door) passkeySignIn(w http.ResponseWriter, r *http.Request) error {
	party, err := d.party(r)
	if err != nil {
		return err
	}
	c, err := d.answered(w, r)
	if err != nil {
		return err
	}
	var (
		holder *keyholder
		kept   []store.Passkey
	)
	find := func(_, handle []byte) (webauthn.User, error) {
		var err error
		holder, kept, err = d.holder(r, func(p store.Person) bool { return p.Handle == string(handle) })
		return holder, err
	}
	_, used, err := party.FinishPasskeyLogin(find, c.asked, r)
	if err == nil && used.Authenticator.CloneWarning {
		err = errors.New("its counter ran back: there may be a copy of it")
	}
	if err != nil {
		name := ""
		if holder != nil {
			name = holder.person.Name
		}
		d.Server.Log.Info("a passkey was not taken", "why", why(err))
		d.failed(r, "", "sign-in by passkey refused, "+cmp.Or(name, "of nobody"))
		return web.Refuse(http.StatusUnauthorized, "That passkey lets nobody in here. It may have been taken away; sign in by password.")
	}
	id := base64.RawURLEncoding.EncodeToString(used.ID)
	for _, k := range kept {
		if k.ID != id {
			continue
		}
		text, err := json.Marshal(used)
		if err != nil {
			return err
		}
		k.Used, k.Credential = d.Server.Now(), string(text)
		if err := d.Register.UsePasskey(r.Context(), k); err != nil {
			return err
		}
		if err := d.letIn(w, r, holder.person.Name, "by passkey "+k.Name); err != nil {
			return err
		}
	}
	return web.Give(w, http.StatusOK, map[string]string{"next": "/"})
}

// IsAddress reports that a text is the address of a site, as a browser names it.
func IsAddress(text string) bool {
	at, err := url.Parse(text)
	return err == nil && at.Hostname() != "" && (at.Scheme == "https" || at.Scheme == "http") && text == at.Scheme+"://"+strings.ToLower(at.Host)
}
