package store

import (
	"context"
	"fmt"
	"time"

	"gorm.io/gorm/clause"
)

// Feed is the secret link to a role's calendar, kept by the hash of its token.
type Feed struct {
	Role      string
	TokenHash string
	Person    string    // account that made it
	Made      time.Time // UTC ms
}

type feedRow struct {
	Role      string
	TokenHash string
	Person    string
	Made      int64
}

// TableName is for gorm.
func (feedRow) TableName() string { return "feed" }

// Feed returns the link with that token hash, or ErrNotFound.
func (s *Store) Feed(ctx context.Context, tokenHash string) (Feed, error) {
	return s.feed(ctx, "token_hash = ?", tokenHash)
}

// FeedOf returns the link of a role, or ErrNotFound.
func (s *Store) FeedOf(ctx context.Context, role string) (Feed, error) {
	return s.feed(ctx, "role = ?", role)
}

func (s *Store) feed(ctx context.Context, where, arg string) (Feed, error) {
	var row feedRow
	err := s.registry.WithContext(ctx).Where(where, arg).Take(&row).Error
	return Feed{row.Role, row.TokenHash, row.Person, time.UnixMilli(row.Made).UTC()}, found(err, "calendar link")
}

// SaveFeed keeps the link of a role in place of the one before.
func (s *Store) SaveFeed(ctx context.Context, f Feed) error {
	if s.desk == nil {
		return ErrReadOnly
	}
	row := feedRow{f.Role, f.TokenHash, f.Person, f.Made.UnixMilli()}
	err := s.desk.WithContext(ctx).Clauses(clause.OnConflict{
		Columns:   []clause.Column{{Name: "role"}},
		DoUpdates: clause.AssignmentColumns([]string{"token_hash", "person", "made"}),
	}).Create(&row).Error
	if err != nil {
		return fmt.Errorf("keeping a calendar link: %w", err)
	}
	return nil
}

// DropFeed ends the link of a role, if there is one.
func (s *Store) DropFeed(ctx context.Context, role string) error {
	if s.desk == nil {
		return ErrReadOnly
	}
	if err := s.desk.WithContext(ctx).Where("role = ?", role).Delete(&feedRow{}).Error; err != nil {
		return fmt.Errorf("ending a calendar link: %w", err)
	}
	return nil
}
