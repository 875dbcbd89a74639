-- Minors and their guardians, countersignatures, taxa that are dangerous to people; memberships of clubs as periods, invitations to clubs.
-- Lock cost: ACCESS EXCLUSIVE on club_member while each row gets its id, its key and the exclusion constraint (a row a membership:
-- well under a second for 100,000); on keeper and taxon for an instant, and once through taxon for its CHECK. The rest is new.

-- AlterEnum
ALTER TYPE "keeper_role" ADD VALUE 'guardian';

-- AlterTable: a volatile default gives each row that is there an id of its own; afterwards whoever writes gives it.
ALTER TABLE "club_member" DROP CONSTRAINT "club_member_pkey",
ADD COLUMN     "id" UUID NOT NULL DEFAULT gen_random_uuid(),
ADD CONSTRAINT "club_member_pkey" PRIMARY KEY ("id");

-- AlterTable
ALTER TABLE "keeper" ADD COLUMN     "minor_until" DATE;

-- AlterTable
ALTER TABLE "taxon" ADD COLUMN     "dangerous" BOOLEAN NOT NULL DEFAULT false,
ADD COLUMN     "dangerous_source" TEXT;

-- CreateTable
CREATE TABLE "club_invitation" (
    "id" UUID NOT NULL,
    "club_id" UUID NOT NULL,
    "keeper_id" UUID,
    "email" TEXT,
    "code_hash" BYTEA,
    "invited_by" UUID NOT NULL,
    "created_at" TIMESTAMPTZ(3) NOT NULL,
    "expires_at" TIMESTAMPTZ(3) NOT NULL,
    "accepted_at" TIMESTAMPTZ(3),
    "withdrawn_at" TIMESTAMPTZ(3),

    CONSTRAINT "club_invitation_pkey" PRIMARY KEY ("id")
);

-- CreateTable
CREATE TABLE "transfer_countersignature" (
    "id" UUID NOT NULL,
    "transfer_id" UUID NOT NULL,
    "side" "transfer_side" NOT NULL,
    "keeper_id" UUID NOT NULL,
    "account_id" UUID NOT NULL,
    "signed_at" TIMESTAMPTZ(3) NOT NULL,
    "voided_at" TIMESTAMPTZ(3),

    CONSTRAINT "transfer_countersignature_pkey" PRIMARY KEY ("id")
);

-- CreateIndex
CREATE UNIQUE INDEX "club_invitation_code_hash_key" ON "club_invitation"("code_hash");

-- CreateIndex
CREATE INDEX "club_invitation_club_id_id_idx" ON "club_invitation"("club_id", "id");

-- CreateIndex
CREATE INDEX "club_invitation_keeper_id_idx" ON "club_invitation"("keeper_id");

-- CreateIndex
CREATE INDEX "club_invitation_invited_by_idx" ON "club_invitation"("invited_by");

-- CreateIndex
CREATE INDEX "transfer_countersignature_transfer_id_idx" ON "transfer_countersignature"("transfer_id");

-- CreateIndex
CREATE INDEX "transfer_countersignature_keeper_id_idx" ON "transfer_countersignature"("keeper_id");

-- CreateIndex
CREATE INDEX "transfer_countersignature_account_id_idx" ON "transfer_countersignature"("account_id");

-- CreateIndex
CREATE INDEX "club_member_club_id_keeper_id_idx" ON "club_member"("club_id", "keeper_id");

-- AddForeignKey
ALTER TABLE "club_invitation" ADD CONSTRAINT "club_invitation_club_id_fkey" FOREIGN KEY ("club_id") REFERENCES "club"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_invitation" ADD CONSTRAINT "club_invitation_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE SET NULL ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "club_invitation" ADD CONSTRAINT "club_invitation_invited_by_fkey" FOREIGN KEY ("invited_by") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_countersignature" ADD CONSTRAINT "transfer_countersignature_transfer_id_fkey" FOREIGN KEY ("transfer_id") REFERENCES "transfer"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_countersignature" ADD CONSTRAINT "transfer_countersignature_keeper_id_fkey" FOREIGN KEY ("keeper_id") REFERENCES "keeper"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "transfer_countersignature" ADD CONSTRAINT "transfer_countersignature_account_id_fkey" FOREIGN KEY ("account_id") REFERENCES "account"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- Constraints Prisma cannot write.
ALTER TABLE "club_member" ALTER COLUMN "id" DROP DEFAULT;
-- A keeper that leaves and comes back on one day has two periods that touch; one within a day is empty and overlaps nothing.
ALTER TABLE "club_member" ADD CONSTRAINT "club_member_no_overlap"
  EXCLUDE USING gist ("club_id" WITH =, "keeper_id" WITH =, daterange("joined_on", "left_on") WITH &&);
ALTER TABLE "taxon" ADD CONSTRAINT "taxon_dangerous_sourced" CHECK ("dangerous" = ("dangerous_source" IS NOT NULL));
ALTER TABLE "club_invitation" ADD CONSTRAINT "club_invitation_aim" CHECK ("keeper_id" IS NOT NULL OR "code_hash" IS NOT NULL);
ALTER TABLE "club_invitation" ADD CONSTRAINT "club_invitation_address_check"
  CHECK ("email" IS NULL OR ("accepted_at" IS NULL AND "withdrawn_at" IS NULL));
-- One countersignature a side stands; those that were voided stay to be read.
CREATE UNIQUE INDEX "transfer_countersignature_one_a_side" ON "transfer_countersignature" ("transfer_id", "side") WHERE "voided_at" IS NULL;
