package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Account is who may sign in to the data directory. It is no part of any book.
type Account struct {
	ID       string // opaque person id that entries carry
	Name     string // to sign in with; unique
	Display  string
	Role     string
	Secret   string // hash of the password, encoded with its salt and costs
	Disabled bool
}

// Login is an open session, kept by the hash of its token.
type Login struct {
	TokenHash string
	Person    string
	CSRF      string
	Expires   time.Time // UTC ms
}

type accountRow Account

// TableName is for gorm.
func (accountRow) TableName() string { return "account" }

type loginRow struct {
	TokenHash string
	Person    string
	CSRF      string `gorm:"column:csrf"`
	Expires   int64
}

// TableName is for gorm.
func (loginRow) TableName() string { return "login" }

// Account returns the account with that id, or ErrNotFound.
func (s *Store) Account(ctx context.Context, id string) (Account, error) {
	return s.account(ctx, "id = ?", id)
}

// AccountNamed returns the account with that sign-in name, or ErrNotFound.
func (s *Store) AccountNamed(ctx context.Context, name string) (Account, error) {
	return s.account(ctx, "name = ?", name)
}

func (s *Store) account(ctx context.Context, where string, arg string) (Account, error) {
	var row accountRow
	err := s.registry.WithContext(ctx).Where(where, arg).Take(&row).Error
	return Account(row), found(err, "account")
}

// Accounts returns every account, by sign-in name.
func (s *Store) Accounts(ctx context.Context) ([]Account, error) {
	var rows []accountRow
	if err := s.registry.WithContext(ctx).Order("name").Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("reading the accounts: %w", err)
	}
	accounts := make([]Account, len(rows))
	for i, r := range rows {
		accounts[i] = Account(r)
	}
	return accounts, nil
}

// SaveAccount keeps a new account or one changed. It returns ErrConflict when
// another account has its sign-in name.
func (s *Store) SaveAccount(ctx context.Context, a Account) error {
	if s.desk == nil {
		return ErrReadOnly
	}
	row := accountRow(a)
	err := s.desk.WithContext(ctx).Clauses(clause.OnConflict{
		Columns:   []clause.Column{{Name: "id"}},
		DoUpdates: clause.AssignmentColumns([]string{"name", "display", "role", "secret", "disabled"}),
	}).Create(&row).Error
	if isUnique(err) {
		return fmt.Errorf("%w: the sign-in name %q is taken", ErrConflict, a.Name)
	}
	if err != nil {
		return fmt.Errorf("keeping account %q: %w", a.Name, err)
	}
	return nil
}

// Login returns the session with that token hash, or ErrNotFound. Whether it is
// over is the caller's to tell.
func (s *Store) Login(ctx context.Context, tokenHash string) (Login, error) {
	var row loginRow
	err := s.registry.WithContext(ctx).Where("token_hash = ?", tokenHash).Take(&row).Error
	return Login{row.TokenHash, row.Person, row.CSRF, time.UnixMilli(row.Expires).UTC()}, found(err, "session")
}

// SaveLogin keeps a new session.
func (s *Store) SaveLogin(ctx context.Context, l Login) error {
	if s.desk == nil {
		return ErrReadOnly
	}
	row := loginRow{l.TokenHash, l.Person, l.CSRF, l.Expires.UnixMilli()}
	if err := s.desk.WithContext(ctx).Create(&row).Error; err != nil {
		return fmt.Errorf("keeping a session: %w", err)
	}
	return nil
}

// DropLogin ends the session with that token hash, if there is one.
func (s *Store) DropLogin(ctx context.Context, tokenHash string) error {
	return s.drop(ctx, "token_hash = ?", tokenHash)
}

// DropLoginsOf ends every session of a person.
func (s *Store) DropLoginsOf(ctx context.Context, person string) error {
	return s.drop(ctx, "person = ?", person)
}

func (s *Store) drop(ctx context.Context, where, arg string) error {
	if s.desk == nil {
		return ErrReadOnly
	}
	if err := s.desk.WithContext(ctx).Where(where, arg).Delete(&loginRow{}).Error; err != nil {
		return fmt.Errorf("ending sessions: %w", err)
	}
	return nil
}

func found(err error, what string) error {
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return fmt.Errorf("%w: %s", ErrNotFound, what)
	}
	if err != nil {
		return fmt.Errorf("reading the %s: %w", what, err)
	}
	return nil
}
