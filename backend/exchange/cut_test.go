package exchange_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"testing"
	"time"

	"underlog/backend/store"
	"underlog/backend/trial"
	"underlog/internal/husbandry"
)

var every = flag.Int("cut.every", cutEvery, "bytes between one cut and the next; 1 cuts after every byte")

// The line is cut after every single byte of a request, and of an answer: in
// `make verify`, else after every fifth, beginning with another at every run.
// Whatever was cut, offering the same again ends with the entry stored once,
// and the server takes the next request as if nothing had been.
func TestALineThatIsCutAtEveryByte(t *testing.T) {
	phone, bin := mustBegin(t)
	phone.Store.App.Settings().RateLimits.Enabled = false
	want := 0
	for _, side := range []string{"request", "answer"} {
		for cut := rand.IntN(*every); ; cut += *every {
			entry := water(phone, bin.ID)
			raw := mustRaw(t, phone, entry)
			whole := false
			if side == "request" {
				whole = cut >= len(raw)
				mustSendPart(t, phone, raw[:min(cut, len(raw))])
			} else {
				whole = mustReadPart(t, phone, raw, cut)
			}
			answer := phone.MustExchange(nil, []husbandry.Entry{entry})
			if got := answer.Verdicts[0].Verdict; got != store.Stored && got != store.Duplicate {
				t.Fatalf("%s cut after %d bytes, then offered again: %+v", side, cut, answer.Verdicts[0])
			}
			if want++; whole {
				t.Logf("cut up to the end of the %s, %d bytes", side, cut)
				break
			}
		}
	}
	var stored, numbered int
	db := phone.Store.App.DB()
	if err := db.NewQuery("SELECT COUNT(*) FROM logs").Row(&stored); err != nil {
		t.Fatal(err)
	}
	if err := db.NewQuery("SELECT COUNT(DISTINCT record) FROM feed WHERE sort = 'logs'").Row(&numbered); err != nil {
		t.Fatal(err)
	}
	if stored != want || numbered != want {
		t.Errorf("%d entries are stored and %d numbered, want %d", stored, numbered, want)
	}
}

// mustRaw is the whole exchange of an entry as it goes over the line.
func mustRaw(t *testing.T, phone *trial.Phone, entry husbandry.Entry) []byte {
	t.Helper()
	body, err := json.Marshal(phone.Request(nil, []husbandry.Entry{entry}))
	if err != nil {
		t.Fatal(err)
	}
	head := fmt.Sprintf("POST /api/underlog/exchange HTTP/1.1\r\nHost: underlog\r\nConnection: close\r\nAuthorization: %s\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n",
		phone.Token, len(body))
	return append([]byte(head), body...)
}

func mustDial(t *testing.T, phone *trial.Phone) *net.TCPConn {
	t.Helper()
	line, err := net.Dial("tcp", phone.Addr())
	if err != nil {
		t.Fatal(err)
	}
	if err := line.SetDeadline(time.Now().Add(10 * time.Second)); err != nil {
		t.Fatal(err)
	}
	return line.(*net.TCPConn)
}

// mustSendPart sends a part of a request and cuts the line.
func mustSendPart(t *testing.T, phone *trial.Phone, part []byte) {
	t.Helper()
	line := mustDial(t, phone)
	if _, err := line.Write(part); err != nil {
		t.Fatal(err)
	}
	_ = line.SetLinger(0) // a cut, not a farewell
	line.Close()
}

// mustReadPart sends a request, reads so many bytes of the answer and cuts
// the line. It reports whether the answer ended before.
func mustReadPart(t *testing.T, phone *trial.Phone, request []byte, bytesRead int) (whole bool) {
	t.Helper()
	line := mustDial(t, phone)
	defer line.Close()
	if _, err := line.Write(request); err != nil {
		t.Fatal(err)
	}
	answer := make([]byte, bytesRead+1)
	n, err := io.ReadFull(line, answer[:bytesRead])
	_ = line.SetLinger(0)
	if err == io.ErrUnexpectedEOF || err == io.EOF {
		if !bytes.HasPrefix(answer, []byte("HTTP/1.1 200")) {
			t.Fatalf("the answer to a whole request is %s", answer[:n])
		}
		return true
	}
	if err != nil {
		t.Fatal(err)
	}
	return false
}
