package mqtt

import (
	"bufio"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"sync"
	"time"
)

// Packet types of MQTT 3.1.1 that are spoken here. Source: OASIS MQTT 3.1.1 (2014), 2.2.1.
const (
	packetConnect    = 1
	packetConnack    = 2
	packetPublish    = 3
	packetPuback     = 4
	packetSubscribe  = 8
	packetSuback     = 9
	packetPingreq    = 12
	packetPingresp   = 13
	packetDisconnect = 14
)

const (
	dialTimeout = 800 * time.Millisecond
	keepAlive   = 5 * time.Second
	packetLimit = 1 << 20 // bytes of one packet
)

// A Conn speaks MQTT 3.1.1 to a broker: it publishes and receives with quality of service 0 and 1. It is small on purpose;
// version 5 is spoken through a library.
type Conn struct {
	conn net.Conn
	read *bufio.Reader
	mu   sync.Mutex // of writing
}

// errRefused is a broker that is there and does not want us.
var errRefused = errors.New("the broker refuses")

// Login is how a client names itself.
type Login struct {
	Client   string
	User     string
	Password string
}

// Dial connects to a broker. Source: OASIS MQTT 3.1.1 (2014), 3.1 and 3.2.
func Dial(ctx context.Context, place string, l Login) (*Conn, error) {
	d := net.Dialer{Timeout: dialTimeout}
	nc, err := d.DialContext(ctx, "tcp", place)
	if err != nil {
		return nil, err
	}
	c := &Conn{conn: nc, read: bufio.NewReader(nc)}
	if err := c.connect(l); err != nil {
		_ = nc.Close()
		return nil, err
	}
	return c, nil
}

func (c *Conn) connect(l Login) error {
	flags := byte(2) // clean session
	body := text(nil, "MQTT")
	payload := text(nil, l.Client)
	if l.User != "" {
		flags |= 0x80
		payload = text(payload, l.User)
		if l.Password != "" {
			flags |= 0x40
			payload = text(payload, l.Password)
		}
	}
	body = append(body, 4, flags)
	body = binary.BigEndian.AppendUint16(body, uint16(keepAlive/time.Second))
	if err := c.write(packetConnect<<4, append(body, payload...)); err != nil {
		return err
	}
	head, ack, err := c.packet(dialTimeout)
	if err != nil {
		return err
	}
	if head>>4 != packetConnack || len(ack) != 2 {
		return errors.New("the broker answers with something that is not MQTT 3.1.1")
	}
	if ack[1] != 0 {
		return fmt.Errorf("%w: %s", errRefused, refusal(ack[1]))
	}
	return nil
}

// refusal names a return code. Source: OASIS MQTT 3.1.1 (2014), table 3.1.
func refusal(code byte) string {
	names := []string{"", "it does not speak version 3.1.1", "the client's name is not allowed", "it is not available", "wrong user or password", "not authorized"}
	if int(code) < len(names) {
		return names[code]
	}
	return fmt.Sprintf("code %d", code)
}

// Subscribe asks for topics.
func (c *Conn) Subscribe(topics []string) error {
	body := binary.BigEndian.AppendUint16(nil, 1)
	for _, t := range topics {
		body = append(text(body, t), 0)
	}
	return c.write(packetSubscribe<<4|2, body)
}

// Publish sends a payload with quality of service 0.
func (c *Conn) Publish(topic string, payload []byte) error {
	return c.write(packetPublish<<4, append(text(nil, topic), payload...))
}

// Receive hands over what is published until the connection ends, and keeps it alive meanwhile. It always returns an error.
func (c *Conn) Receive(each func(topic string, payload []byte)) error {
	asked := false
	for {
		head, body, err := c.packet(keepAlive / 2)
		if timeout(err) {
			if asked {
				return fmt.Errorf("no answer from the broker for %v", keepAlive)
			}
			asked = true
			if err := c.write(packetPingreq<<4, nil); err != nil {
				return err
			}
			continue
		}
		if err != nil {
			return err
		}
		asked = false
		switch head >> 4 {
		case packetPublish:
			if err := c.published(head, body, each); err != nil {
				return err
			}
		case packetSuback:
			if slices.Contains(body[min(2, len(body)):], 0x80) {
				return fmt.Errorf("%w: a topic is not allowed", errRefused)
			}
		}
	}
}

func (c *Conn) published(head byte, body []byte, each func(string, []byte)) error {
	if len(body) < 2 || len(body) < 2+int(binary.BigEndian.Uint16(body)) {
		return errors.New("a message of the broker is cut short")
	}
	n := 2 + int(binary.BigEndian.Uint16(body))
	topic, payload := string(body[2:n]), body[n:]
	if head>>1&3 > 0 {
		if len(payload) < 2 {
			return errors.New("a message of the broker is cut short")
		}
		if err := c.write(packetPuback<<4, payload[:2]); err != nil {
			return err
		}
		payload = payload[2:]
	}
	each(topic, payload)
	return nil
}

// Close says goodbye.
func (c *Conn) Close() error {
	_ = c.write(packetDisconnect<<4, nil) // a courtesy
	return c.conn.Close()
}

func (c *Conn) write(head byte, body []byte) error {
	out := append(length([]byte{head}, len(body)), body...)
	c.mu.Lock()
	defer c.mu.Unlock()
	if err := c.conn.SetWriteDeadline(deadline(dialTimeout)); err != nil {
		return err
	}
	_, err := c.conn.Write(out)
	return err
}

// packet reads one packet. A timeout before its first byte is an error of that kind; later it is the end of the connection.
func (c *Conn) packet(wait time.Duration) (head byte, body []byte, err error) {
	if err := c.conn.SetReadDeadline(deadline(wait)); err != nil {
		return 0, nil, err
	}
	if head, err = c.read.ReadByte(); err != nil {
		return 0, nil, err
	}
	if err := c.conn.SetReadDeadline(deadline(dialTimeout)); err != nil {
		return 0, nil, err
	}
	n, shift := 0, 0
	for {
		b, err := c.read.ReadByte()
		if err != nil {
			return 0, nil, cut(err)
		}
		n |= int(b&0x7F) << shift
		if shift += 7; b&0x80 == 0 {
			break
		}
		if shift > 21 {
			return 0, nil, errors.New("a packet of the broker has a length that cannot be")
		}
	}
	if n > packetLimit {
		return 0, nil, fmt.Errorf("a packet of %d bytes is too large", n)
	}
	body = make([]byte, n)
	if _, err := io.ReadFull(c.read, body); err != nil {
		return 0, nil, cut(err)
	}
	return head, body, nil
}

func deadline(d time.Duration) time.Time {
	return time.Now().Add(d) //nolint:forbidigo // a deadline of a socket is by the machine's clock
}

func cut(err error) error { return fmt.Errorf("a packet of the broker is cut short: %v", err) } //nolint:errorlint // a timeout within a packet is not one to wait on

func timeout(err error) bool {
	var ne net.Error
	return errors.As(err, &ne) && ne.Timeout()
}

// text appends a string with its length. Source: OASIS MQTT 3.1.1 (2014), 1.5.3.
func text(b []byte, s string) []byte {
	return append(binary.BigEndian.AppendUint16(b, uint16(len(s))), s...) //nolint:gosec // topics and names are short; Open checks
}

// length appends the remaining length. Source: OASIS MQTT 3.1.1 (2014), 2.2.3.
func length(b []byte, n int) []byte {
	for n > 127 {
		b, n = append(b, byte(n&0x7F|0x80)), n>>7
	}
	return append(b, byte(n))
}
