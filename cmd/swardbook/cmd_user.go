package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/swardbook/swardbook/server"
	"github.com/swardbook/swardbook/server/app"
)

const userHelp = `Usage: swardbook user add NAME --role ROLE --shown-as TEXT --data DIR
       swardbook user list --data DIR
       swardbook user disable NAME --data DIR

Keeps who may sign in. "add" reads the password, at least 12 characters, as one
line from standard input, so that it stands in no command history.

  --data DIR        the data directory; no server may be running on it
  --site ID         which site, where the data directory holds several
  --role ROLE       officer, manager, surveyor, specialist, laboratory, gate,
                    landowner, regulator or administrator
  --shown-as TEXT   how the person is shown to others

Example: swardbook user add mira --role officer --shown-as "M. Hollins" --data site-data

Exit codes: 0 done, 1 failed, 2 wrong call.
`

func runUser(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	f := flags("user")
	data, site := f.String("data", "", ""), f.String("site", "", "")
	role, shown := f.String("role", "", ""), f.String("shown-as", "", "")
	words, code, ended := parse(f, args, userHelp, stdout, stderr)
	if ended {
		return code
	}
	if *data == "" || len(words) == 0 {
		return usageError(stderr, "user", "say add, list or disable, and --data DIR")
	}
	var err error
	switch {
	case words[0] == "list" && len(words) == 1:
		err = withPeople(*data, *site, func(p *app.People, me app.Actor) error { return listUsers(p, me, stdout) })
	case words[0] == "disable" && len(words) == 2:
		err = withPeople(*data, *site, func(p *app.People, me app.Actor) error { return disableUser(p, me, words[1], stdout) })
	case words[0] == "add" && len(words) == 2:
		if *role == "" || *shown == "" {
			return usageError(stderr, "user", "add needs --role and --shown-as")
		}
		err = withPeople(*data, *site, func(p *app.People, me app.Actor) error {
			return addUser(p, me, app.Account{Name: words[1], Display: *shown, Role: app.Role(*role)}, stdin, stdout)
		})
	default:
		return usageError(stderr, "user", "say add NAME, list, or disable NAME")
	}
	if err != nil {
		return failed(stderr, "user", err)
	}
	return exitDone
}

// withPeople opens the data directory as its owner at the machine.
func withPeople(data, site string, do func(*app.People, app.Actor) error) (err error) {
	h, err := server.Open(data, server.Options{Site: site})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	return do(h.People, app.Actor{Person: "command-line", Role: app.Administrator})
}

func listUsers(p *app.People, me app.Actor, stdout io.Writer) error {
	all, err := p.List(context.Background(), me)
	if err != nil {
		return err
	}
	for _, a := range all {
		state := "may sign in"
		if a.Disabled {
			state = "disabled"
		}
		_, _ = fmt.Fprintf(stdout, "%-20s %-14s %-12s %s\n", a.Name, a.Role, state, a.Display)
	}
	return nil
}

func disableUser(p *app.People, me app.Actor, name string, stdout io.Writer) error {
	all, err := p.List(context.Background(), me)
	if err != nil {
		return err
	}
	for _, a := range all {
		if a.Name == name {
			off := true
			if _, err := p.Alter(context.Background(), me, a.ID, app.Change{Disabled: &off}); err != nil {
				return err
			}
			_, _ = fmt.Fprintf(stdout, "%s is disabled and signed out everywhere\n", name)
			return nil
		}
	}
	return fmt.Errorf("there is no sign-in name %q", name)
}

func addUser(p *app.People, me app.Actor, a app.Account, stdin io.Reader, stdout io.Writer) error {
	password, err := bufio.NewReader(stdin).ReadString('\n')
	if err != nil && !errors.Is(err, io.EOF) {
		return err
	}
	made, err := p.Add(context.Background(), me, a, strings.TrimRight(password, "\r\n"))
	if err != nil {
		return err
	}
	_, _ = fmt.Fprintf(stdout, "%s may sign in as %s\n", made.Name, made.Role)
	return nil
}
