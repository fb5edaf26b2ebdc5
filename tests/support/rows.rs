//! Reads a file of curves: `#` lines, a line of names, rows.

/// The rows of a file of curves, in order, looked up by the name of the column.
pub struct Rows {
    names: Vec<&'static str>,
    pub rows: Vec<Vec<&'static str>>,
}

impl Rows {
    pub fn read(text: &'static str) -> Rows {
        let mut lines = text.lines().filter(|line| !line.starts_with('#'));
        let names = lines.next().unwrap().split(',').collect();
        let rows = lines.map(|line| line.split(',').collect()).collect();
        Rows { names, rows }
    }

    pub fn text(&self, row: usize, name: &str) -> &'static str {
        let column = self.names.iter().position(|n| *n == name).unwrap();
        self.rows[row][column]
    }

    pub fn number(&self, row: usize, name: &str) -> f64 {
        self.text(row, name).parse().unwrap()
    }
}
