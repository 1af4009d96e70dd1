package door

// A person's own account: how they come in, where they are in, their password.

import (
	"encoding/json"
	"net/http"
	"strings"

	"chargewright/store"
	"chargewright/web"
)

// whence is by what a person knows a device of theirs again.
func (d *Door) whence(r *http.Request) string {
	kind := "a computer"
	if agent := r.UserAgent(); strings.Contains(agent, "Mobi") || strings.Contains(agent, "Android") {
		kind = "a phone or tablet"
	}
	return kind + " at " + d.address(r)
}

func (d *Door) account(w http.ResponseWriter, r *http.Request) error {
	says := ""
	if p := web.PersonOf(r); p != nil && p.First {
		says = "Another person set your password. Change it here before anything else."
	}
	return d.showAccount(w, r, http.StatusOK, says)
}

func (d *Door) showAccount(w http.ResponseWriter, r *http.Request, status int, says string) error {
	who := d.Server.Who(r)
	keys, err := d.Register.Passkeys(r.Context(), who)
	if err != nil {
		return err
	}
	sessions, err := d.Register.Sessions(r.Context(), who, d.Server.Now())
	if err != nil {
		return err
	}
	why := ""
	if _, err := d.party(r); err != nil {
		why = err.Error()
	}
	return pages.Render(w, status, "account.html", struct {
		web.Frame
		Says       string
		Passkeys   []store.Passkey
		NoPasskeys string // why none can be added here
		Sessions   []store.Session
		This       string // the session this page is asked for in
	}{d.Server.Frame(r, "Your account"), says, keys, why, sessions, d.token(r)})
}

func (d *Door) changePassword(w http.ResponseWriter, r *http.Request) error {
	who, fresh := d.Server.Who(r), r.PostFormValue("new")
	if !d.mayTry(r, who) {
		return d.showAccount(w, r, http.StatusTooManyRequests, tooManyTries)
	}
	knows, err := d.knows(r.Context(), who, r.PostFormValue("password"))
	switch {
	case err != nil:
		return err
	case !knows:
		d.failed(r, who, "change of password refused")
		return d.showAccount(w, r, http.StatusForbidden, "That is not your password now. Nothing was changed.")
	case fresh == r.PostFormValue("password"):
		return d.showAccount(w, r, http.StatusUnprocessableEntity, "That is the password you have. Nothing was changed.")
	}
	if err := weak(fresh, who); err != nil {
		return d.showAccount(w, r, http.StatusUnprocessableEntity, err.Error()+" Nothing was changed.")
	}
	if err := d.Register.PutPassword(r.Context(), who, kept(fresh), d.token(r)); err != nil {
		return err
	}
	d.note(r, who, "password changed, other sessions ended")
	http.Redirect(w, r, "/me", http.StatusSeeOther)
	return nil
}

// endSessions ends the session named, or all others.
func (d *Door) endSessions(w http.ResponseWriter, r *http.Request) error {
	who, which := d.Server.Who(r), r.PostFormValue("session")
	end, what := d.Register.EndSession, "session ended"
	if which == "others" {
		end, which, what = d.Register.EndOtherSessions, d.token(r), "other sessions ended"
	}
	if err := end(r.Context(), who, which); err != nil {
		return err
	}
	d.note(r, who, what)
	http.Redirect(w, r, "/me", http.StatusSeeOther)
	return nil
}

// addDeviceKey keeps the public half of the key by which the person's device
// signs what is entered on it, so that it stays theirs whoever sends it.
func (d *Door) addDeviceKey(w http.ResponseWriter, r *http.Request) error {
	var in struct{ Key string }
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil || !store.IsKey(in.Key) {
		return web.Refuse(http.StatusUnprocessableEntity, "key is the public half of an Ed25519 key, 64 figures in hexadecimal.")
	}
	who := d.Server.Who(r)
	if err := d.Register.AddDeviceKey(r.Context(), in.Key, who, d.whence(r), d.Server.Now()); err != nil {
		return err
	}
	d.note(r, who, "device signs from now on: "+d.whence(r))
	return web.Give(w, http.StatusOK, map[string]bool{"kept": true})
}
