-- An ask for another last day that a recall ended says so. A new value of an enum: locks nothing but the type, for a moment. It is
-- used by the next migration, for PostgreSQL takes a new value only once it is committed.

-- AlterEnum
ALTER TYPE "loan_day_outcome" ADD VALUE 'ended_by_recall';
