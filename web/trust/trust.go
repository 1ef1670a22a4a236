// Package trust holds what the pages prove themselves with over HTTPS: a certificate authority of the plant's own, made
// once and kept in the data folder, that vouches for this computer and for nothing else, or certificate files that the
// plant brings. Browsers keep pages without signal and hand out microphone and camera to such addresses only.
//
// What browsers and phones ask of certificates (at most 398 days for a server's, its names as alternative names, name
// constraints kept) is common practice, from memory; the forms are those of RFC 5280.
package trust

import (
	"log/slog"
	"net"
	"net/netip"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"
)

// Options say for whom is vouched.
type Options struct {
	Names []string         // host names and addresses by which phones open the pages, beside those the computer has; the first is the one shown
	Now   func() time.Time // nil: the computer's clock
	Host  func() Host      // nil: this computer
	Log   *slog.Logger     // nil: nothing is told
}

// filled puts in what was left out, and brings the names into one form.
func (o Options) filled() Options {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Host == nil {
		o.Host = ThisComputer
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	names := make([]string, 0, len(o.Names))
	for _, n := range o.Names {
		names = append(names, plainName(n))
	}
	o.Names = names
	return o
}

// Host is what a computer is called in its network.
type Host struct {
	Name      string       // host name, with or without its domain; "" where it has none
	Addresses []netip.Addr // of its interfaces, the one it reaches others from first
}

// ThisComputer asks the system. What it can't tell is left out: an address that a reader comes in by is found then.
func ThisComputer() Host {
	var h Host
	h.Name, _ = os.Hostname() // a computer without a name is reached by its addresses
	list, err := net.Interfaces()
	if err != nil {
		return h
	}
	for _, i := range list {
		if i.Flags&net.FlagUp == 0 {
			continue
		}
		addresses, err := i.Addrs()
		if err != nil {
			continue
		}
		for _, a := range addresses {
			if p, err := netip.ParsePrefix(a.String()); err == nil {
				h.Addresses = append(h.Addresses, p.Addr().Unmap())
			}
		}
	}
	first := outward()
	slices.SortStableFunc(h.Addresses, func(a, b netip.Addr) int { return rank(a, first) - rank(b, first) })
	return h
}

// outward is the address this computer reaches others from. To connect a datagram socket asks for the route only:
// nothing is sent, and 192.0.2.1 belongs to nobody (RFC 5737).
func outward() netip.Addr {
	c, err := net.DialUDP("udp4", nil, net.UDPAddrFromAddrPort(netip.MustParseAddrPort("192.0.2.1:9")))
	if err != nil {
		return netip.Addr{} // no route: the first address will do
	}
	defer c.Close() // nothing was sent
	return addressOf(c)
}

// rank sorts addresses by how well they can be typed on a phone.
func rank(a, first netip.Addr) int {
	switch {
	case a == first:
		return 0
	case a.Is4():
		return 1
	}
	return 2
}

// addressOf is this computer's end of a connection, not valid where it has none.
func addressOf(c net.Conn) netip.Addr {
	if c == nil || c.LocalAddr() == nil {
		return netip.Addr{}
	}
	p, err := netip.ParseAddrPort(c.LocalAddr().String())
	if err != nil {
		return netip.Addr{}
	}
	return p.Addr().Unmap().WithZone("")
}

// names are what a computer may be called by those near it: its name with its domain, where it has one, and under
// .local, by which phones find a computer that no name server knows (RFC 6762). Not by one word alone: an authority for a
// computer that happens to be called like a top domain could vouch for all of that domain.
func (h Host) names() []string {
	full := plainName(h.Name)
	if !hostName.MatchString(full) || full == "localhost" || net.ParseIP(full) != nil {
		return nil
	}
	short, _, _ := strings.Cut(full, ".")
	var out []string
	for _, n := range []string{full, short + ".local"} {
		if strings.Contains(n, ".") && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// hostName is a name that may stand in a certificate: letters, digits, hyphens and, as many computers have them, underscores.
var hostName = regexp.MustCompile(`^[a-z0-9_]([a-z0-9_-]{0,61}[a-z0-9_])?(\.[a-z0-9_]([a-z0-9_-]{0,61}[a-z0-9_])?)*$`)

// plainName is a name or an address in the form in which two of them are compared.
func plainName(name string) string {
	name = strings.TrimSuffix(strings.ToLower(strings.TrimSpace(name)), ".")
	if a, err := netip.ParseAddr(strings.Trim(name, "[]")); err == nil {
		return a.Unmap().String()
	}
	return name
}

// private are the ranges that belong to nobody in particular: those of RFC 1918, 3927, 4193 and 6598, and the computer itself.
func private() []netip.Prefix {
	var out []netip.Prefix
	for _, p := range strings.Fields("10.0.0.0/8 172.16.0.0/12 192.168.0.0/16 169.254.0.0/16 100.64.0.0/10 127.0.0.0/8 fc00::/7 ::1/128") {
		out = append(out, netip.MustParsePrefix(p))
	}
	return out
}

// once tells the log each sentence one time.
type once struct {
	log  *slog.Logger
	mu   sync.Mutex
	said map[string]bool
}

// mostSaid is how many different sentences are told: names come from outside and may be any.
const mostSaid = 200

func (o *once) warn(says string) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.said[says] || len(o.said) >= mostSaid {
		return
	}
	if o.said == nil {
		o.said = map[string]bool{}
	}
	o.said[says] = true
	o.log.Warn(says)
}

// date writes a day in a sentence.
func date(t time.Time) string { return t.Format("2 January 2006") }
