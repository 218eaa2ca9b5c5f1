package alerts

import (
	"net/mail"
	"net/netip"
	"net/url"
	"slices"
	"strings"
	"unicode"

	"underlog/internal/husbandry"
)

// contactAccepted is the half of the sentence that says what a contact may be.
const contactAccepted = "give an e-mail address or an https address under which somebody can be reached, at a public name"

// checkContact checks how the push services can reach whoever runs this
// server (RFC 8292, 2.1) and returns it in the form in which it is kept: a
// bare e-mail address or an https address. Services refuse names that lead
// nowhere. Empty is none.
func checkContact(text string) (string, *husbandry.Problem) {
	wrong := &husbandry.Problem{Field: "contact", Value: quoted(text), Accepted: contactAccepted}
	contact := strings.TrimSpace(text)
	for strings.HasPrefix(strings.ToLower(contact), "mailto:") {
		contact = contact[len("mailto:"):]
	}
	if contact == "" {
		if strings.TrimSpace(text) == "" {
			return "", nil
		}
		return "", wrong
	}
	if len(contact) > 200 {
		return "", wrong
	}
	host := ""
	if strings.HasPrefix(strings.ToLower(contact), "https://") {
		parsed, err := url.Parse(contact)
		if err != nil || parsed.User != nil {
			return "", wrong
		}
		host = parsed.Hostname()
	} else {
		address, err := mail.ParseAddress(contact)
		if err != nil || address.Name != "" || address.Address != contact || strings.ContainsAny(contact, " <>\"#%?&/") {
			return "", wrong
		}
		host = contact[strings.LastIndex(contact, "@")+1:]
	}
	if !isPublicName(host) {
		return "", wrong
	}
	return contact, nil
}

// homeZones are names that stay at home or lead nowhere (RFC 2606, RFC 6761,
// RFC 6762, RFC 8375), and what home routers commonly use (from memory).
var homeZones = []string{"localhost", "local", "internal", "invalid", "test", "example", "lan", "home", "home.arpa", "onion"}

// isPublicName reports whether a host is a name that could lead somewhere on
// the open net: no address, no single word, none of the zones that stay at
// home.
func isPublicName(host string) bool {
	host = strings.ToLower(strings.TrimSuffix(host, "."))
	if _, err := netip.ParseAddr(host); err == nil || !strings.Contains(host, ".") {
		return false
	}
	for label := range strings.SplitSeq(host, ".") {
		if label == "" || strings.ContainsFunc(label, func(r rune) bool { return r != '-' && !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
			return false
		}
	}
	return !slices.ContainsFunc(homeZones, func(zone string) bool {
		return strings.HasSuffix(host, "."+zone)
	})
}

func quoted(text string) string {
	if text == "" {
		return `""`
	}
	return text
}
