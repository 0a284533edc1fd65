//! What is deleted, and when: everything personal after a set number of days, and a person at once.

use std::collections::BTreeSet;

use rusqlite::{Connection, Error, params};

use super::{
    desk::{from_json, to_json},
    forget::{GONE, scrub},
    record::Record,
};

/// Removes a person from every row of every session, undone ones too: the list, notes, reasons, and
/// who wrote what. `person` is their number in `session`; in other sessions they are known by name.
///
/// What they did on tablets (names of staff, in the journal) goes with the day's file, by its age.
///
/// # Errors
/// When the file cannot be read or written; with the transaction around it, nothing has then changed.
pub fn forget_person(connection: &Connection, session: u32, person: u32, name: &str) -> Result<(), Error> {
    let rows = rows(connection)?;
    let is_name = |other: &str| other.trim().to_lowercase() == name.trim().to_lowercase();
    let mut known: BTreeSet<(u32, u32)> = BTreeSet::from([(session, person)]);
    for (_, session, record) in &rows {
        if let Record::Added { person, name: other, .. } = record
            && is_name(other)
        {
            known.insert((*session, *person));
        }
    }
    let mut update = connection.prepare("UPDATE entry SET record = ?2 WHERE seq = ?1")?;
    for (seq, in_session, record) in rows {
        let mut now = record.clone();
        // Number 0 is nobody's: it takes the name out of texts only.
        let numbers = known.iter().filter(|(session, _)| *session == in_session).map(|(_, person)| *person);
        for person in numbers.chain([0]) {
            now = scrub(&now, person, name).unwrap_or(now);
        }
        if now != record {
            update.execute(params![seq, to_json(&now)?])?;
        }
    }
    for table in ["entry", "version"] {
        connection.execute(&format!("UPDATE {table} SET by = ?2 WHERE by = ?1"), params![name, GONE])?;
    }
    connection.execute("UPDATE key SET made_by = ?2 WHERE made_by = ?1", params![name, GONE])?;
    connection.execute(
        "UPDATE key SET name = ?2 WHERE name = ?1 AND role <> 'boat' AND revoked_ms IS NOT NULL",
        params![name, GONE],
    )?;
    Ok(())
}

/// Deletes the sessions that ended before `before_ms`, with all people and notes in them, the names
/// of those who wrote what is kept, and keys that ended before then. Gives how many rows went.
///
/// A session counts from its newest entry, so one that is being written to is never touched.
///
/// # Errors
/// When the file cannot be read or written.
pub fn forget_older(connection: &Connection, before_ms: i64) -> Result<usize, Error> {
    let mut gone = connection.execute(
        "DELETE FROM entry WHERE session <> 0 AND session IN
         (SELECT session FROM entry GROUP BY session HAVING max(at_ms) < ?1)",
        [before_ms],
    )?;
    gone +=
        connection.execute("DELETE FROM entry WHERE undone_ms IS NOT NULL AND at_ms < ?1", [before_ms])?;
    for table in ["entry", "version"] {
        connection.execute(
            &format!("UPDATE {table} SET by = ?2 WHERE at_ms < ?1 AND by <> ?2"),
            params![before_ms, GONE],
        )?;
    }
    gone += connection.execute("DELETE FROM key WHERE revoked_ms < ?1 OR ends_ms < ?1", [before_ms])?;
    Ok(gone)
}

fn rows(connection: &Connection) -> Result<Vec<(i64, u32, Record)>, Error> {
    let mut statement = connection.prepare("SELECT seq, session, record FROM entry ORDER BY seq")?;
    statement
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?, from_json(&row.get::<_, String>(2)?, 2)?)))?
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::{
        day::{
            desk::Desk,
            record::{Plan, Record},
        },
        papers::Papers,
    };

    const DAY_MS: i64 = 86_400_000;

    fn session() -> Record {
        Record::Session(Plan { title: "Day".into(), ..Plan::default() })
    }

    fn added(name: &str) -> Record {
        Record::Added { person: 1, name: name.into(), part: "learner".into(), boat: None }
    }

    async fn texts(papers: &Papers) -> String {
        papers
            .with(|connection| {
                connection.query_row(
                    "SELECT coalesce(group_concat(by || record), '') FROM entry",
                    [],
                    |row| row.get(0),
                )
            })
            .await
            .expect("readable")
    }

    #[tokio::test]
    async fn old_sessions_go_and_what_outlives_them_stays_without_names() {
        let papers = Papers::in_memory().expect("memory");
        let mut desk = Desk::load(papers.clone()).await.expect("readable");
        let defect =
            Record::Defect { defect: 1, boat: "07".into(), text: "pintle bent".into(), safety: true };
        desk.write("Robin", 0, vec![session(), added("Noa"), defect]).await.expect("written");
        desk.write("Robin", DAY_MS, vec![Record::Closed { reason: None }]).await.expect("written");
        desk.write("Ash", 30 * DAY_MS, vec![session(), added("Kim")]).await.expect("written");

        assert!(
            !desk.forget_older(DAY_MS).await.expect("writable"),
            "its newest entry is not older than a day"
        );
        assert!(desk.forget_older(2 * DAY_MS).await.expect("writable"));
        let left = texts(&papers).await;
        assert!(!left.contains("Noa") && !left.contains("Robin"), "{left}");
        assert!(left.contains("Kim") && left.contains("Ash") && left.contains("pintle bent"), "{left}");
        assert_eq!(desk.book().people.len(), 1);
        assert!(!desk.book().may_launch("07"));
    }

    #[tokio::test]
    async fn a_person_is_forgotten_in_earlier_sessions_and_namesakes_of_their_number_are_not() {
        let papers = Papers::in_memory().expect("memory");
        let mut desk = Desk::load(papers.clone()).await.expect("readable");
        desk.write("Robin", 0, vec![session(), added("Kim")]).await.expect("written");
        desk.write("Robin", 1, vec![Record::Closed { reason: None }]).await.expect("written");
        let noted = Record::PersonNote { person: 1, note: Some("asthma".into()) };
        desk.write("Robin", 2, vec![session(), added("noa"), noted]).await.expect("written");
        desk.write("Robin", 3, vec![Record::Closed { reason: None }]).await.expect("written");
        desk.write("Robin", 4, vec![session(), added("Noa")]).await.expect("written");
        desk.delete_person(1, "Robin", 5).await.expect("deleted");
        let left = texts(&papers).await;
        assert!(!left.to_lowercase().contains("noa") && !left.contains("asthma"), "{left}");
        assert!(left.contains("Kim"), "{left}");
    }
}
