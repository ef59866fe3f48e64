"""What people do at the bench. One module an activity; each public function is one transaction."""
