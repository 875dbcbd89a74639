-- Helpers in roles and clubs that admit: invitations by mailed code, applications, mails to addresses that have no account.
-- Lock cost: ACCESS EXCLUSIVE on mail_message for an instant (a new column is null); the CHECK on it reads it once. The rest is new.

-- CreateEnum
CREATE TYPE "application_state" AS ENUM ('open', 'admitted', 'declined');

-- AlterTable
ALTER TABLE "mail_message" ADD COLUMN     "address" TEXT,
ALTER COLUMN "account_id" DROP NOT NULL;

-- CreateTable
CREATE TABLE "invitation" (
    "id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "role" "keeper_role" NOT NULL,
    "email" TEXT,
    "code_hash" BYTEA NOT NULL,
    "invited_by" UUID NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,
    "expires_at" TIMESTAMPTZ(3) NOT NULL,
    "accepted_at" TIMESTAMPTZ(3),
    "withdrawn_at" TIMESTAMPTZ(3),

    CONSTRAINT "invitation_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "club_application" (
    "id" UUID NOT NULL,
    "club_id" UUID NOT NULL,
    "keeper_id" UUID NOT NULL,
    "state" "application_state" NOT NULL DEFAULT 'open',
    "message" TEXT,
    "applied_by" UUID NOT NULL,
    "applied_at" TIMESTAMPTZ(3) NOT NULL,
    "answered_by" UUID,
    "answered_at" TIMESTAMPTZ(3),
    "reason" TEXT,

    CONSTRAINT "club_application_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE UNIQUE INDEX "invitation_code_hash_key" ON "invitation"("code_hash");

-- CreateIndex
CREATE INDEX "invitation_keeper_id_idx" ON "invitation"("keeper_id");

-- CreateIndex
CREATE INDEX "invitation_invited_by_idx" ON "invitation"("invited_by");

-- CreateIndex
CREATE INDEX "club_application_club_id_applied_at_id_idx" ON "club_application"("club_id", "applied_at", "id");

-- CreateIndex
CREATE INDEX "club_application_keeper_id_idx" ON "club_application"("keeper_id");

-- AddForeignKey
ALTER TABLE "invitation" ADD CONSTRAINT "invitation_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "invitation" ADD CONSTRAINT "invitation_invited_by_fkey" FOREIGN KEY ("invited_by") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_application" ADD CONSTRAINT "club_application_club_id_fkey" FOREIGN KEY ("club_id") REFERENCES "club"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_application" ADD CONSTRAINT "club_application_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Constraints Prisma cannot write.
ALTER TABLE "mail_message" ADD CONSTRAINT "mail_message_one_address" CHECK (num_nonnulls("account_id", "address") = 1);
ALTER TABLE "invitation" ADD CONSTRAINT "invitation_address_check" CHECK (("accepted_at" IS NULL AND "withdrawn_at" IS NULL) OR "email" IS NULL);
ALTER TABLE "club_application" ADD CONSTRAINT "club_application_answer_check" CHECK (("state" = 'open') = ("answered_at" IS NULL));
-- One question at a time: a keeper that has asked a club waits for the answer.
CREATE UNIQUE INDEX "club_application_one_open" ON "club_application" ("club_id", "keeper_id") WHERE "state" = 'open';
