package mqtt

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"time"

	"github.com/eclipse/paho.golang/autopaho"
	"github.com/eclipse/paho.golang/paho"
)

var errDropped = errors.New("the connection was dropped")

// refused names the reason code of a refusal. Source: OASIS MQTT 5.0 (2019), table 3-1.
func refused(err error) error {
	e, ok := errors.AsType[*autopaho.ConnackError](err)
	if !ok {
		return err
	}
	names := map[byte]string{
		0x84: "it does not speak version 5: write version=3.1.1", 0x85: "the client's name is not allowed", 0x86: "wrong user or password",
		0x87: "not authorized", 0x88: "it is not available", 0x8A: "banned", 0x9F: "too many connections",
	}
	if name, ok := names[e.ReasonCode]; ok {
		return fmt.Errorf("%w: %s", errRefused, name)
	}
	if e.ReasonCode >= 0x80 {
		return fmt.Errorf("%w: reason %d", errRefused, e.ReasonCode)
	}
	return err
}

// run5 listens in version 5. The library is told not to reconnect by itself: a session does, as for every source.
func (s *source) run5(ctx context.Context, login Login, receive func(string, []byte)) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	ended := make(chan error, 8)
	end := func(err error) {
		select {
		case ended <- refused(err):
		default:
		}
	}
	subs := make([]paho.SubscribeOptions, len(s.topics))
	for i, t := range s.topics {
		subs[i] = paho.SubscribeOptions{Topic: t.name, QoS: 0}
	}
	conf := autopaho.ClientConfig{
		ServerUrls: []*url.URL{{Scheme: "mqtt", Host: s.about.Place}},
		KeepAlive:  uint16(keepAlive / time.Second), ConnectTimeout: dialTimeout,
		CleanStartOnInitialConnection: true,
		ConnectUsername:               login.User, ConnectPassword: []byte(login.Password),
		OnConnectionUp: func(m *autopaho.ConnectionManager, _ *paho.Connack) {
			go func() {
				if _, err := m.Subscribe(ctx, &paho.Subscribe{Subscriptions: subs}); err != nil {
					end(err)
				}
			}()
		},
		OnConnectionDown: func() bool { end(errDropped); return false },
		OnConnectError:   end,
		ClientConfig: paho.ClientConfig{
			ClientID:           login.Client,
			OnClientError:      end,
			OnServerDisconnect: func(*paho.Disconnect) { end(errDropped) },
			OnPublishReceived: []func(paho.PublishReceived) (bool, error){func(p paho.PublishReceived) (bool, error) {
				receive(p.Packet.Topic, p.Packet.Payload)
				return true, nil
			}},
		},
	}
	m, err := autopaho.NewConnection(ctx, conf)
	if err != nil {
		return err
	}
	select {
	case <-ctx.Done():
		err = ctx.Err()
	case err = <-ended:
	case <-m.Done():
		err = errDropped
	}
	cancel()
	goodbye, done := context.WithTimeout(context.WithoutCancel(ctx), dialTimeout/2)
	defer done()
	_ = m.Disconnect(goodbye) // whatever it says, the connection is over
	return err
}
