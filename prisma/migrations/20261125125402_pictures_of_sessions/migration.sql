-- Which pictures a session of a photo documentation consists of. Lock cost: none to speak of, the table is new.

-- CreateTable
CREATE TABLE "photo_session_file" (
    "session_id" UUID NOT NULL,
    "file_id" UUID NOT NULL,

    CONSTRAINT "photo_session_file_pkey" PRIMARY KEY ("session_id","file_id")
);

-- AddForeignKey
ALTER TABLE "photo_session_file" ADD CONSTRAINT "photo_session_file_session_id_fkey" FOREIGN KEY ("session_id") REFERENCES "photo_session"("id") ON DELETE RESTRICT ON UPDATE CASCADE;

-- AddForeignKey
ALTER TABLE "photo_session_file" ADD CONSTRAINT "photo_session_file_file_id_fkey" FOREIGN KEY ("file_id") REFERENCES "animal_file"("id") ON DELETE RESTRICT ON UPDATE CASCADE;
