package door

// Devices that keep jobs for work without the server: known while they are in
// use, revoked when they are lost.

import (
	"encoding/json"
	"net/http"

	"chargewright/store"
	"chargewright/web"
)

// deviceOf reads by what a device names itself: 32 figures that it made at random.
func deviceOf(r *http.Request) (in struct{ Device, Key string }, err error) {
	if err := json.NewDecoder(http.MaxBytesReader(nil, r.Body, 4096)).Decode(&in); err != nil || !web.IsDevice(in.Device) {
		return in, web.Refuse(http.StatusUnprocessableEntity, "device is 32 figures in hexadecimal, made on the device.")
	}
	return in, nil
}

// askDevice tells a device whether it was revoked. It need not be signed in for
// that: one that was is signed in no more.
func (d *Door) askDevice(w http.ResponseWriter, r *http.Request) error {
	in, err := deviceOf(r)
	if err != nil {
		return err
	}
	revoked, err := d.Register.IsRevoked(r.Context(), in.Device)
	if err != nil {
		return err
	}
	if revoked {
		w.Header().Set("Clear-Site-Data", clearsDevice)
	}
	return web.Give(w, http.StatusOK, map[string]bool{"revoked": revoked})
}

// seeDevice notes that a device keeps jobs, who is signed in on it, and since
// when it was seen.
func (d *Door) seeDevice(w http.ResponseWriter, r *http.Request) error {
	in, err := deviceOf(r)
	if err != nil {
		return err
	}
	k := store.Keeping{ID: in.Device, Person: d.Server.Who(r), Whence: d.whence(r), Seen: d.Server.Now()}
	revoked, err := d.Register.SeeDevice(r.Context(), k, d.token(r), in.Key)
	if err != nil {
		return err
	}
	return web.Give(w, http.StatusOK, map[string]bool{"revoked": revoked})
}

func (d *Door) revokeDevice(w http.ResponseWriter, r *http.Request) error {
	whose, err := d.Register.RevokeDevice(r.Context(), r.PostFormValue("device"), d.Server.Now())
	if err != nil {
		return err
	}
	d.note(r, d.Server.Who(r), "device of "+whose+" revoked")
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}
