package doctor

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"underlog/backend/reach"
)

// home looks at a server in the home network, as a phone that trusts it.
func (v *Visit) home(ctx context.Context, serving reach.Serving) []Finding {
	folder := filepath.Join(v.Data, reach.Folder)
	authority, err := reach.ReadAuthority(folder, v.Now())
	if err != nil {
		return []Finding{{"secure address", Bad, fmt.Sprintf("Phones cannot trust this home: %v.", err), "See the sentence before."}}
	}
	var findings []Finding
	host := hostOf(serving.Phones)
	if address := net.ParseIP(host); address != nil && !slices.ContainsFunc(v.addresses(), address.Equal) {
		findings = append(findings, Finding{"secure address", Bad, fmt.Sprintf("Phones know this computer at %s, and it is not there any more.", host),
			"Have your router always give this computer the same address, then start the server again; phones that were at the old one sign in anew."})
	}
	roots := x509.NewCertPool()
	roots.AddCert(authority.Certificate)
	if err := v.ask(ctx, serving.Phones, &tls.Config{RootCAs: roots}); err != nil {
		findings = append(findings, Finding{"secure address", Bad, fmt.Sprintf("%s does not answer as it should: %v.", serving.Phones, plain(err)),
			"If the name is not known, give another with --name; if nobody answers, look at this computer's firewall."})
	} else if len(findings) == 0 {
		findings = append(findings, Finding{"secure address", Good,
			fmt.Sprintf("%s answers, with a certificate that phones take which trust this home. Alerts come to those; the way is at %s.", serving.Phones, serving.Guide), ""})
	}
	if left := authority.Certificate.NotAfter.Sub(v.Now()); left < 365*24*time.Hour {
		findings = append(findings, Finding{"authority", Mind, fmt.Sprintf("What phones trust lapses on %s.", authority.Certificate.NotAfter.Format(time.DateOnly)),
			fmt.Sprintf("Some day before that remove %s, start the server, and let each phone trust the new one.", folder)})
	}
	return findings
}

// public looks at a server with a public name, as any phone.
func (v *Visit) public(ctx context.Context, serving reach.Serving) []Finding {
	host := hostOf(serving.Phones)
	leaf, err := reach.LeafOf(v.Data, host)
	switch {
	case err != nil:
		return []Finding{{"secure address", Bad, fmt.Sprintf("The certificate of %s cannot be read: %v.", host, err), "Remove it, and another is asked for."}}
	case leaf == nil:
		return []Finding{{"secure address", Bad, fmt.Sprintf("No certificate has come for %s yet.", host),
			"The server's log says why. Over the web, port 80 or 443 of the name must lead to this computer; with --dns try the program by hand."}}
	case !v.Now().Before(leaf.NotAfter):
		return []Finding{{"secure address", Bad, fmt.Sprintf("The certificate of %s lapsed on %s.", host, leaf.NotAfter.Format(time.DateOnly)), "The server's log says why no other came."}}
	}
	lookup, cancel := context.WithTimeout(ctx, timeout)
	defer cancel()
	if _, err := net.DefaultResolver.LookupHost(lookup, host); err != nil {
		return []Finding{{"secure address", Bad, fmt.Sprintf("Nobody knows where %s is: %v.", host, err),
			"Set an address record for the name where its zone is kept; it may be this computer's address at home."}}
	}
	if err := v.ask(ctx, serving.Phones, nil); err != nil {
		return []Finding{{"secure address", Bad, fmt.Sprintf("%s does not answer as it should: %v.", serving.Phones, plain(err)),
			"From inside a home the way to a public address may be closed by the router: try a phone, or let the name lead to this computer's address at home."}}
	}
	return []Finding{{"secure address", Good, fmt.Sprintf("%s answers, with a certificate good until %s.", serving.Phones, leaf.NotAfter.Format(time.DateOnly)), ""}}
}

func hostOf(address string) string {
	parsed, err := url.Parse(address)
	if err != nil {
		return ""
	}
	return parsed.Hostname()
}

// plain turns what TLS and the network say into words.
func plain(err error) error {
	var name x509.HostnameError
	var unknown x509.UnknownAuthorityError
	var lookup *net.DNSError
	switch {
	case errors.As(err, &name):
		return errors.New("its certificate is for another name")
	case errors.As(err, &unknown):
		return errors.New("its certificate is of an authority that phones do not know")
	case errors.As(err, &lookup):
		return fmt.Errorf("the name %s is not known here", lookup.Name)
	case errors.Is(err, context.DeadlineExceeded):
		return errors.New("nobody answered in time")
	}
	return err
}

// usualServices are where the browsers' push services are, for a household
// none of whose devices takes alerts yet.
var usualServices = []string{"https://fcm.googleapis.com", "https://updates.push.services.mozilla.com", "https://web.push.apple.com"}

// push asks each push service that a device uses whether it can be reached,
// and what time it is there.
func (v *Visit) push(ctx context.Context, records *records) []Finding {
	services := records.services()
	if len(services) == 0 {
		services = usualServices
	}
	var findings []Finding
	for _, service := range services {
		request, err := http.NewRequestWithContext(ctx, http.MethodHead, service+"/", nil)
		if err != nil {
			continue // a damaged subscription; the device line says so
		}
		asked := v.Now()
		response, err := v.Push.Do(request)
		if err != nil {
			findings = append(findings, Finding{"push service", Bad, fmt.Sprintf("%s cannot be reached from here: %v.", hostOf(service), plain(err)),
				"Alerts to the devices that use it wait until it can. Look at this computer's line, and whether a firewall or a filter of names holds it off."})
			continue
		}
		response.Body.Close()
		findings = append(findings, Finding{"push service", Good, fmt.Sprintf("%s answers.", hostOf(service)), ""})
		if there, err := http.ParseTime(response.Header.Get("Date")); err == nil {
			off := asked.Add(v.Now().Sub(asked) / 2).Sub(there)
			v.clockOff = &off
		}
	}
	return findings
}

// most is how far a clock may be off: RFC 8292 bounds how long a token is
// good, and services refuse one from the future.
const most = 5 * time.Minute

func (v *Visit) clock() Finding {
	switch {
	case v.clockOff == nil:
		return Finding{"clock", Unknown, "No push service said what time it is, so this computer's clock could not be compared.", ""}
	case v.clockOff.Abs() > most:
		way := "ahead"
		if *v.clockOff < 0 {
			way = "behind"
		}
		return Finding{"clock", Bad, fmt.Sprintf("This computer's clock is %s %s of the push service's: alerts are refused, and entries are stamped wrongly.", v.clockOff.Abs().Round(time.Second), way),
			"Have this computer set its clock over the network."}
	}
	return Finding{"clock", Good, fmt.Sprintf("This computer's clock and the push service's are within %s of each other.", max(v.clockOff.Abs().Round(time.Second), time.Second)), ""}
}

func (v *Visit) zone(records *records) Finding {
	zone, err := time.LoadLocation(records.zone)
	if err != nil {
		return Finding{"time zone", Bad, fmt.Sprintf("The household's time zone is %q, which is none.", records.zone), "Choose another in Room."}
	}
	now := v.Now()
	says := fmt.Sprintf("Quiet hours follow %s, where it is %s now.", records.zone, now.In(zone).Format("15:04 on Monday"))
	_, theirs := now.In(zone).Zone()
	_, ours := now.In(v.Local).Zone()
	if theirs != ours && !strings.EqualFold(v.Local.String(), "UTC") {
		return Finding{"time zone", Mind, says + fmt.Sprintf(" This computer's own clock shows %s.", now.In(v.Local).Format("15:04")),
			"If the clock on the wall shows the same as this computer's, choose that time zone in Room."}
	}
	return Finding{"time zone", Good, says, ""}
}
